"""What the help overlays say: keys first, then signs."""

from trainer.screens.help_overlay import HelpLines

FLIGHT: HelpLines = (
    ("", "Speak when a call is due; nothing need be touched"),
    ("Space, F3", "talk key; without it your voice opens the microphone"),
    ("Enter", "type a call instead; Esc leaves the line"),
    ("F2  h", "hint: the words of the next call, its parts, nothing"),
    ("F4  p", "pause and go on"),
    ("F5  g", "let a call pass that you will not make"),
    ("F6  l", "light or dark"),
    ("F7  m", "plan or conversation; if wide, plan or none"),
    ("F8  n", "turn the plan: runway up, runway across, north up"),
    ("^q", "end the session and leave"),
    ("", "Plan"),
    ("double line", "the present leg; plain: the next; dotted: the others"),
    ("◉  ○", "where the next call belongs; where others do"),
    ("", "Marks of a call"),
    ("+  x  -", "right, wrong, missing"),
    ("~  ?", "could be better; not sure, which costs nothing"),
)

DEBRIEF: HelpLines = (
    ("Up, Down", "the calls, one by one"),
    ("m", "listen to mine, as it was spoken"),
    ("w", "listen to the words as they should be"),
    ("s", "stop the sound"),
    ("p", "progress over all sessions"),
    ("e", "write the debrief as a page"),
    ("n", "another flight: back to the start screen, if there was one"),
    ("l  F6", "light or dark"),
    ("Enter", "leave"),
    ("", "Marks"),
    ("+  x  -", "right, wrong, missing"),
    ("~  ?", "could be better; not sure, which costs nothing"),
    ("=", "the words of the model call"),
)

PROGRESS: HelpLines = (
    ("Up, Down", "scroll"),
    ("l  F6", "light or dark"),
    ("Esc", "back"),
    ("", "Signs"),
    ("bars", "one session each, the newest on the right; the height is the score"),
    ("!", "practice of this is due"),
)

DRILLS: HelpLines = (
    ("Up, Down", "the drills: the library's, and one's own, the files of this folder"),
    ("Enter", "take the one under the bar; a click does the same"),
    ("l  F6", "light or dark"),
    ("Esc", "back, as it was"),
    ("", "Signs"),
    ("+  ~  x", "what check says of it: nothing, a warning, a fault; one with a fault cannot be flown"),
)

FIELD: HelpLines = (
    ("r", "the next runway end"),
    ("c", "the next class of aircraft"),
    ("w", "the next wind: calm, down the runway, across it"),
    ("d", "drawing or figures; a wide terminal has both"),
    ("Up, Down", "scroll the figures"),
    ("l  F6", "light or dark"),
    ("Esc", "back"),
    ("", "Drawing"),
    ("+", "an entry point; one at the edge lies farther out, so many NM from the field"),
)

MICROPHONE: HelpLines = (
    ("", "Speak as on the air until the line is full"),
    ("Enter, Esc", "back, once it has been measured"),
)

START: HelpLines = (
    ("Enter", "fly what is chosen"),
    ("Up, Down", "from line to line; Tab too"),
    ("Left, Right", "another value; a click on an arrow does the same"),
    ("F2  d", "the drills, with what check says of each; one's own files are those of this folder"),
    ("F3  f", "the field and its computed pattern"),
    ("F4  m", "ten seconds with the microphone, then a word from the tower"),
    ("F5  p", "progress over all sessions"),
    ("F6  l", "light or dark"),
    ("^z", "to the shell, fg comes back"),
    ("", "Words to the trainer, while nothing is due"),
    ("say again", "the tower's last words to you once more; with the callsign it is a call"),
    ("pause, resume", "the clock stops and goes on"),
    ("end session", "to the debrief"),
)
