"""Two themes of our own: ink on paper for the day, paper on ink for the evening."""

from textual.theme import Theme

FAINT = "$foreground 60%"

EVENING = Theme(
    name="evening",
    dark=True,
    background="#211f2b",
    surface="#2a2836",
    panel="#383547",
    foreground="#efe8da",
    primary="#e6b56a",
    secondary="#a9b7d9",
    accent="#ea9a86",
    success="#a8c9a2",
    warning="#e6b56a",
    error="#f08f80",
)
DAY = Theme(
    name="day",
    dark=False,
    background="#f8f4ec",
    surface="#efe8d9",
    panel="#e2d8c3",
    foreground="#2a2735",
    primary="#83470c",
    secondary="#33507a",
    accent="#9a3823",
    success="#2b6235",
    warning="#7d5000",
    error="#a1261a",
)
