"""What can go wrong with the logbook, each with what to do about it."""


class LogbookError(Exception):
    """Root of this package's errors: `problem` says what and where, `remedy` what to do about it."""

    def __init__(self, problem: str, remedy: str) -> None:
        super().__init__(problem, remedy)
        self.problem = problem
        self.remedy = remedy

    def __str__(self) -> str:
        return f"{self.problem}; {self.remedy}."
