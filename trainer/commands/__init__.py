"""What the commands of `cli.py` do: one module a command, loaded when it is typed, and what they share."""
