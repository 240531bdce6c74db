"""From words to elements, left to right: `Reader` goes through a transmission once.

`cursor` holds the words; `quantities` reads what has a number, `fixed` the phrases of the table, `names`
callsigns, stations and points, `composite` what is made of several of these. Each reader is given a place
and gives the element that starts there, or None. Nothing is repaired: a digit is the digit that was
heard, and a word that means nothing here stays a leftover word.
"""

from phraseology.reading.reader import Reader

__all__ = ["Reader"]
