"""The overhead pattern: legs and turns as geometry, the state machine of legs, where each call belongs.

May import `drills.field` (for its type) and nothing else of the project. No I/O, no clock, no
thread: time is session seconds, handed in. The plane is runway-aligned: the origin is the landing
threshold, x runs along the landing direction, y to the side the pattern is flown on, both in NM.
One steady wind blows everywhere; `wind` and `turns` say what that does.
"""
