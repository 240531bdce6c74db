"""Other aircraft, and looking ahead: where each will be if it gets what it wants and obeys.

May import `trainer.pattern` and nothing else of the project. No I/O, no clock, no thread.
"""
