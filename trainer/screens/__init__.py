"""The Textual application: widgets post what was done to them, screens show values, nothing decides here.

May import `trainer.live`, `trainer.session` and `trainer.debrief.account`; never a sound library.
"""
