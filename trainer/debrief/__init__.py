"""What is told of a session: the account as values, read out of the logbook, and the page made of it."""
