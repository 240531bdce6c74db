"""Everything that sounds: who speaks, how it sounds on the radio, and playing it.

`sound` holds the values and the `Speaker` port; `speaker` is behind it: a `worker` process with an
`engine` inside (pyttsx3 or piper), `several` joins more than one. `pronounce` is how the
trade says words, `casting` gives every station a voice of its own, `radio` and `mixing` treat samples,
`playback` plays them, `returning` outlives its device, `wav` reads and writes files.

May import: the standard library, numpy, soxr, and late, where they are needed, sounddevice, pyttsx3,
espeakng_loader and piper. Imports nothing of `phraseology`, `trainer` or `drills`.
"""
