"""The work that follows: orders to contractors, their reports, and what each changes."""
