"""The controller: from what was asked and the predicted traffic to a reply, with the reasons kept.

`hearback` decides what to ask when a call could not be used; `policy` decides what to answer when
it could; `script` lets a drill force an answer. Pure; imports phraseology, drills (the replies'
names) and the pattern and traffic beside it.
"""
