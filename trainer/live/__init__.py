"""A session in real time: pace, sound, microphone thread, logbook; everything but what is drawn.

May import all of `trainer` but the screens; only `start` and `front_desk` import those, late. The session,
the player and the logbook are touched by one thread, the one that calls `LiveSession.tick`.
"""
