"""The session: session seconds go forward, calls are heard, replies fall due, events come out.

Pure: the same plan, seed and inputs give the same events. Whoever drives it (`trainer.commands.demo`,
`trainer.screens`) owns the clock, the microphone and the voice.
"""
