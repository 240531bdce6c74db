"""The radio language of the overhead pattern: words, number forms, elements, calls and replies.

Pure: imports nothing of the other packages, does no I/O, starts no thread and reads no clock.
The way through it: `words` -> `parse` -> `elements`; `calls` and `replies` say what is expected;
`assess` compares; `render` goes the other way, from a value to words; `situation` says what may
plausibly be heard.
"""
