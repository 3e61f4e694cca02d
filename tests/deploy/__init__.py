"""How the service is brought up: the shell of deploy/ tested function by function and on a real private cluster."""
