"""Orders: rules, actions, effects, queries."""
