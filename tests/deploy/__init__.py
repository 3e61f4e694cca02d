"""How the service is brought up: the shell of deploy/ by function and on a real cluster."""
