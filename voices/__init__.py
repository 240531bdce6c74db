"""Everything that sounds: who speaks, how it sounds on the radio, and playing it.

`sound` holds the values and the `Speaker` port, `speaker` the first driver behind it (a `worker`
process with pyttsx3 inside), `casting` gives every station a voice of its own, `radio` and `mixing`
treat samples, `playback` plays them, `wav` reads and writes files.

May import: the standard library, numpy, soxr, and late, where they are needed, sounddevice, pyttsx3
and espeakng_loader. Imports nothing of `phraseology`, `trainer` or `drills`.
"""
