"""How the words of the radio language sound: pronunciations, and letter-to-sound rules for any other word.

Phones are the 39 of ARPAbet without stress, the same set as the recogniser's own lexicon. The data stand at
the end of the module, one word a line, and are read when first asked for. Words of the recogniser's lexicon
sound here as they do there. The rest is from the CMU Pronouncing Dictionary, Copyright (C) 1993-2015 Carnegie
Mellon University, BSD 2-Clause (THIRD_PARTY.md); what it lacks is put together from its entries.
"""

import re
from collections.abc import Iterator, Mapping
from functools import cache, cached_property

Pronunciation = tuple[str, ...]
"""Phones in order, for instance ("S", "EY", "B", "AH", "L")."""


class _Lexicon(Mapping[str, tuple[Pronunciation, ...]]):
    """The data, read once and not before it is needed."""

    @cached_property
    def _entries(self) -> dict[str, tuple[Pronunciation, ...]]:
        entries: dict[str, tuple[Pronunciation, ...]] = {}
        for line in (_OF_THE_RECOGNISER + _OF_THE_DICTIONARY + _PUT_TOGETHER).splitlines():
            word, _, ways = line.partition(" ")
            entries[word] = tuple(tuple(way.split()) for way in ways.split("|"))
        return entries

    def __getitem__(self, word: str) -> tuple[Pronunciation, ...]:
        return self._entries[word]

    def __iter__(self) -> Iterator[str]:
        return iter(self._entries)

    def __len__(self) -> int:
        return len(self._entries)


PRONUNCIATIONS: Mapping[str, tuple[Pronunciation, ...]] = _Lexicon()
"""By lower-case word, one spelling or another of the same word having an entry each."""


def pronunciations(word: str) -> tuple[Pronunciation, ...]:
    """Every listed way to say the word, whatever its case; none if it is not listed."""
    return PRONUNCIATIONS.get(word.lower(), ())


@cache
def spelled(word: str) -> Pronunciation:
    """A likely pronunciation from the letters alone, for a word that is not listed.

    English spelling has no sure rules: these get the common cases of short names right, and are good enough
    to say which words a new callsign sounds like. A word without a vowel letter is said letter by letter.
    What is no letter a to z is passed over; "" gives no phones.

    >>> spelled("tamper")
    ('T', 'AE', 'M', 'P', 'ER')
    """
    letters = re.sub("[^a-z]", "", word.lower())
    if not re.search("[aeiouy]", letters):
        return tuple(phone for letter in letters for phone in PRONUNCIATIONS[letter][-1])
    phones: list[str] = []
    place = 0
    while place < len(letters):
        length, sound = _sound_at(letters, place)
        phones += sound
        place += length
    return tuple(phones)


def _sound_at(letters: str, place: int) -> tuple[int, list[str]]:
    """How many letters the first rule that fits takes at `place`, and their phones."""
    # The last rules are the single letters, so one always fits.
    return next(
        (found.end() - place, sound) for pattern, sound in _RULES if (found := pattern.match(letters, place))
    )


# A pattern and its phones a line; the first that fits at the place wins.
_RULES_TEXT = r"""
^kn N
^gn N
^wr R
^ps S
^x(?=[aeiouy]) Z
mb$ M
([bdfglmnprstz])(?=\1)
tch CH
sch S K
ch CH
ck K
sh SH
ph F
th TH
wh W
dge JH
tion SH AH N
[tc]ial SH AH L
sion ZH AH N
ture$ CH ER
igh AY
ght T
gh G
ng(?=$|[bdfghklmnprstwyz]) NG
n(?=k|x) NG
qu K W
c(?=[eiy]) S
g(?=[eiy]) JH
s(?=[aeiouy])(?<=[aeiouy]s) Z
s$(?<=[bdgvmnlrwyeaiou]s) Z
y(?=[aeiou]) Y
(?<=[bcdfgkpstz])le$ AH L
(?<=[a-z]{2})or$ ER
(?<=[td])ed$ IH D
(?<=[kpsfxh])ed$ T
(?<=[a-z]{2})ed$ D
(?<=[aeiouy][^aeiouy])[aeo](?=[ln]$) AH
(?<=[aeiouy][^aeiouy]{2})[aeo](?=[ln]$) AH
(?<=w)or ER
o(?=ing) OW
y(?=ing) IY
^u(?=[^aeiouy][aeiouy]) Y UW
ier$ IY ER
[iu]r(?![aeiouyr]) ER
er(?![aeiouyr]) ER
(?<=w)ar(?![aeiouyr]) AO R
(?<=qu)a AA
ar(?![aeiouyr]) AA R
or(?![aeiouyr]) AO R
are$ EH R
air EH R
ear IH R
eer IH R
a[iy] EY
ey$ IY
e[iy] EY
e[ea] IY
ie$ IY
ie IY
o[ae] OW
ook UH K
oo UW
ow$ OW
o[uw] AW
o[iy] OY
a[uw] AO
e[uw] UW
ue$ UW
a(?=[^aeiouyrwx](e[sdr]?|ing)$) EY
i(?=[^aeiouywx](e[sdr]?|ing)$) AY
o(?=[^aeiouywx](e[sdr]?|ing)$) OW
u(?=[^aeiouywx](e[sdr]?|ing)$) UW
y(?=[^aeiouywx]e(s|d)?$) AY
a(?=[^aeiouyrwx][ao]$) EY
i(?=[^aeiouywx][ao]$) AY
o(?=[^aeiouywx][ao]$) OW
u(?=[^aeiouywx][aou]$) UW
u$ UW
a(?=[bcdfgkpt]le$) EY
i(?=[bcdfgkpt]le$) AY
e(?=s$)(?<=[szc]e) IH
e(?=s$)(?<=[aeiouy][^aeiouy]e)
e$(?<=[aeiouy][^aeiouy]e)
e$(?<=[aeiouy][^aeiouy]{2}e)
(?<=[a-z]{2})a$ AH
e$ IY
i$ IY
o$ OW
(?<=[aeiouy][^aeiouy])y$ IY
(?<=[aeiouy][^aeiouy]{2})y$ IY
y$ AY
old OW L D
a(?=lls?$) AO
a AE
e EH
i IH
o AA
u AH
y IH
b B
c K
d D
f F
g G
h HH
j JH
k K
l L
m M
n N
p P
q K
r R
s S
t T
v V
w W
x K S
z Z
"""

_RULES = tuple(
    (re.compile(pattern), phones) for pattern, *phones in map(str.split, _RULES_TEXT.split("\n")[1:-1])
)

# As in trainer/ears/model; "three" with the sound of "tree" too, which is how AIM 4-2-8 has it said.
_OF_THE_RECOGNISER = """\
a AH | EY
abeam AH B IY M
abort AH B AO R T
above AH B AH V
active AE K T IH V
adze AE D Z
affirm AH F ER M
affirmative AH F ER M AH T IH V
after AE F T ER
afternoon AE F T ER N UW N
again AH G EH N | AH G EY N
ah AA
ahead AH HH EH D
airborne EH R B AO R N
aircraft EH R K R AE F T
ait EY T
alfa AE L F AH
all AO L
alpha AE L F AH
altimeter AE L T IH M AH T ER
altitude AE L T AH T UW D
an AE N | AH N
and AE N D | AH N D
approach AH P R OW CH
approved AH P R UW V D
are AA R | ER
around ER AW N D | ER AW N
at AE T
base B EY S
be B IY
before B IH F AO R | B IY F AO R
behind B IH HH AY N D
below B IY L OW | B IH L OW
between B IH T W IY N | B IY T W IY N
bingo B IH NG G OW
bird B ER D
board B AO R D
bravo B R AA V OW
break B R EY K
breaking B R EY K IH NG
breakout B R EY K AW T
bronco B R AA NG K OW
by B AY
call K AO L
calling K AO L IH NG
calm K AA L M | K AA M
cancel K AE N S AH L
canceled K AE N S AH L D
carry K AE R IY | K EH R IY
carrying K AE R IY IH NG | K EH R IY IH NG
center S EH N ER | S EH N T ER
charlie CH AA R L IY
check CH EH K
circle S ER K AH L
circuit S ER K AH T
city S IH T IY
clear K L IH R
cleared K L IH R D
clearing K L IH R IH NG
climb K L AY M
climbing K L AY M IH NG
climbout K L AY M AW T
closed K L OW Z D
cobra K OW B R AH
coming K AH M IH NG
comply K AH M P L AY
confirm K AH N F ER M
contact K AA N T AE K T
continue K AH N T IH N Y UW
continuing K AH N T IH N Y UW IH NG
copied K AA P IY D
copy K AA P IY
corbel K AO R B AH L
correction K ER EH K SH AH N
crosswind K R AO S W IH N D
dash D AE SH
day D EY
decimal D EH S AH M AH L
degrees D IH G R IY Z
delay D IH L EY
delta D EH L T AH
denied D IH N AY D
departure D IH P AA R CH ER
descend D IH S EH N D
disapproved D IH S AH P R UW V D
disregard D IH S R IH G AA R D
do D UW
down D AW N
downwind D AW N W IH N D
dusty D AH S T IY
east IY S T
echo EH K OW
eight EY T
eighteen EY T IY N
eighty EY T IY
eleven IH L EH V AH N | IY L EH V AH N
emergency IH M ER JH AH N S IY | IY M ER JH AH N S IY
end EH N D
engine EH N JH AH N | IH N JH AH N
entry EH N T R IY
er ER
everything EH V R IY TH IH NG
execute EH K S AH K Y UW T
exit EH G Z IH T | EH K S AH T
expect IH K S P EH K T
extend IH K S T EH N D
extending IH K S T EH N D IH NG
failure F EY L Y ER
fast F AE S T
feet F IY T
fife F AY F
fifteen F IH F T IY N
fifty F IH F T IY
final F AY N AH L
finals F AY N AH L Z
fire F AY ER | F AY R
first F ER S T
five F AY V
flameout F L EY M AW T
flaps F L AE P S
flight F L AY T
follow F AA L OW
following F AA L OW IH NG
for F AO R | F ER | F R ER
formation F AO R M EY SH AH N
forty F AO R T IY
four F AO R
fourteen F AO R T IY N
fower F OW ER | F AW ER
foxtrot F AA K S T R AA T
from F R AH M
fuel F Y UW AH L | F Y UW L
full F UH L
gear G IH R
gear's G IH R Z
go G OW
going G OW IH N | G OW IH NG
golf G AA L F | G AO L F
good G UH D | G IH D
granite G R AE N AH T | G R AE N IH T
green G R IY N
ground G R AW N D
gusting G AH S T IH NG
gusts G AH S T S
h EY CH
half HH AE F
harbor HH AA R B ER
have HH AE V
hawk HH AO K
heading HH EH D IH NG
hectopascals HH EH K T OW P AE S K AH L Z
here HH IY R
heron HH EH R AH N
hey HH EY
hold HH OW L D
holding HH OW L D IH NG
hotel HH OW T EH L
house HH AW S
how HH AW
hundred HH AH N D ER D | HH AH N ER D | HH AH N D R AH D | HH AH N D R IH D
hydraulic HH AY D R AO L IH K
i'd AY D
i'm AH M | AY M
ident AY D EH N T
in IH N
inbound IH N B AW N D
inches IH N CH AH Z | IH N CH IH Z
india IH N D IY AH
indicating IH N D AH K EY T IH NG
information IH N F ER M EY SH AH N | IH N F AO R M EY SH AH N
initial IH N IH SH AH L
inside IH N S AY D
insight IH N S AY T
intention IH N T EH N CH AH N
intentions IH N T EH N CH AH N Z
is IH Z
it IH T
jet JH EH T
joy JH OY
juliet JH UW L IY EH T
juliett JH UW L IY EH T
kilo K IH L OW
knots N AA T S
lake L EY K
land L AE N D
landing L AE N D IH NG
last L AE S T | L AE S
lead L EH D | L IY D
left L EH F T
left-hand L EH F T HH AE N D
leg L EH G
level L EH V AH L
lighthouse L AY T HH AW S
like L AY K
lima L AY M AH | L IY M AH
line L AY N
locked L AA K T
long L AO NG
looking L UH K IH NG
loud L AW D
low L OW
maintain M EY N T EY N
mallard M AE L ER D
marten M AA R T AH N
mayday M EY D EY
midfield M IH D F IY L D
mike M AY K
mile M AY L
miles M AY L Z | M AY AH L Z
minimum M IH N AH M AH M
minutes M IH N AH T S
morning M AO R N IH NG
music M Y UW Z IH K
my M AY
n EH N
nature N EY CH ER
negative N EH G AH T IH V
next N EH K S T | N EH K S
nine N AY N
niner N AY N ER
nineteen N AY N T IY N
ninety N AY N T IY
no N OW
north N AO R TH
northeast N AO R TH IY S T
northwest N AO R TH W EH S T
nose N OW Z
not N AA T
november N OW V EH M B ER
now N AW
number N AH M B ER
numbers N AH M B ER Z
of AH V
off AO F
oh OW
ok OW K EY
okay OW K EY
on AA N | AO N
one W AH N
option AA P SH AH N | AO P SH AH N
or AO R | ER
orbit AO R B AH T
orchard AO R CH ER D
oscar AO S K ER
our AA R | AW R | AW ER
out AW T
outbound AW T B AW N D
outside AW T S AY D
over OW V ER
overhead OW V ER HH EH D
pair P EH R
pan P AE N
papa P AA P AH
pass P AE S
pattern P AE T ER N
people P IY P AH L
perch P ER CH
please P L IY Z
point P OY N T
position P AH Z IH SH AH N
practice P R AE K T IH S | P R AE K T AH S
push P UH SH
q K Y UW
quarry K W AO R IY
quarter K W AO R T ER
quebec K W AH B EH K
radio R EY D IY OW
raven R EY V AH N
read R EH D | R IY D
readback R IY D B AE K
reading R EH D IH NG | R IY D IH NG
ready R EH D IY
report R IH P AO R T | R IY P AO R T
reporting R IY P AO R T IH NG | R IH P AO R T IH NG
request R IH K W EH S T | R IY K W EH S T
requested R IH K W EH S T IH D | R IY K W EH S T IH D
requesting R IH K W EH S T IH NG | R IY K W EH S T IH NG
right R AY T
right-hand R AY T HH AE N D
road R OW D
roger R AA JH ER
romeo R OW M IY OW
round R AW N D
runway R AH N W EY
saber S EY B ER
sable S EY B AH L
say S EY
second S EH K AH N D
seconds S EH K AH N D Z
sequence S IY K W AH N S
seven S EH V AH N
seventeen S EH V AH N T IY N
seventy S EH V AH N T IY | S EH V AH N IY
short SH AO R T
should SH UH D
sierra S IY EH R AH
sight S AY T
sign S AY N
silo S AY L OW
simulated S IH M Y AH L EY T IH D
single S IH NG G AH L
sir S ER
six S IH K S
sixteen S IH K S T IY N
sixty S IH K S T IY
smoke S M OW K
souls S OW L Z
south S AW TH
southeast S AW TH IY S T
southwest S AW TH W EH S T
speed S P IY D
squawk S K W AO K
stand S T AE N D
standby S T AE N D B AY
standing S T AE N D IH NG
start S T AA R T
station S T EY SH AH N
stop S T AA P
straight S T R EY T
strike S T R AY K
table T EY B AH L
tail T EY L
takeoff T EY K AO F
tally T AE L IY
talon T AE L AH N
tango T AE NG G OW
taxi T AE K S IY
taxiway T AE K S IY W EY
ten T EH N
thank TH AE NG K
thanks TH AE NG K S
that DH AE T | DH AH T
that's DH AE T S
the DH AH | DH IY
there DH EH R
third TH ER D
thirteen TH ER T IY N
thirty TH ER D IY | TH ER T IY
this DH IH S
thousand TH AW Z AH N | TH AW Z AH N D
three TH R IY | T R IY
through TH R UW
time T AY M
to T IH | T AH | T UW
topaz T OW P AE Z
touch T AH CH
tower T AW ER
tower's T AW ER Z
town T AW N
traffic T R AE F IH K
trainer T R EY N ER
transit T R AE N Z IH T
tree T R IY
turboprop T ER B OW P R AA P
turn T ER N
turning T ER N IH NG
twelve T W EH L V
twenty T W EH N T IY | T W EH N IY
twice T W AY S
two T UW
uh AH
um AH M
unable AH N EY B AH L
uniform Y UW N AH F AO R M
unsafe AH N S EY F
up AH P
upwind AH P W IH N D
vacated V EY K EY T AH D | V EY K EY T IH D
vacating V EY K EY T IH NG
variable V EH R IY AH B AH L
verify V EH R AH F AY
via V AY AH | V IY AH
victor V IH K T ER
viper V AY P ER
visual V IH ZH AH W AH L
wait W EY T
want W AO N T | W AA N T
water W AO T ER
wave W EY V
we W IY
we're W IY R | W IH R | W ER
weather W EH DH ER
weir W IY R | W IH R
west W EH S T
wheels HH W IY L Z | W IY L Z
whiskey HH W IH S K IY | W IH S K IY
wickstone W IH K S T OW N
wilco W IH L K OW
will W AH L | W IH L
wind W AY N D | W IH N D
window W IH N D OW
wing W IH NG
wingman W IH NG M AH N
with W IH DH | W IH TH
word W ER D
would W UH D
x-ray EH K S R EY
xray EH K S R EY
yankee Y AE NG K IY
yes Y EH S
you Y UW
your Y AO R | Y UH R
zero Z IH R OW | Z IY R OW
zone Z OW N
zulu Z UW L UW
"""

# From the CMU Pronouncing Dictionary, stress taken off.
_OF_THE_DICTIONARY = """\
aaron EH R AH N
abandon AH B AE N D AH N
abandoning AH B AE N D AH N IH NG
able EY B AH L
aborted AH B AO R T IH D
aborting AH B AO R T IH NG
about AH B AW T
acknowledge AE K N AA L IH JH
action AE K SH AH N
activity AE K T IH V AH T IY | AE K T IH V IH T IY
actual AE K CH AH W AH L | AE K SH AH L
add AE D
adds AE D Z
ads AE D Z
advise AE D V AY Z | AH D V AY Z
advised AE D V AY Z D | AH D V AY Z D
advising AE D V AY Z IH NG
aerodrome EH R AH D R OW M
airfield EH R F IY L D
airport EH R P AO R T
alert AH L ER T
alone AH L OW N
already AO L R EH D IY | AO R EH D IY
alternate AO L T ER N AH T | AO L T ER N EY T
am AE M | EY EH M
announce AH N AW N S
another AH N AH DH ER
any EH N IY
anybody EH N IY B AH D IY
approaches AH P R OW CH AH Z | AH P R OW CH IH Z
apron EY P R AH N
arresting ER EH S T IH NG
as AE Z | EH Z
asked AE S K T | AE S T
asks AE S K S
auction AA K SH AH N | AO K SH AH N
available AH V EY L AH B AH L
away AH W EY
b B IY
back B AE K
bailout B EY L AW T
balloon B AH L UW N
barrier B AE R IY ER | B EH R IY ER
bass B AE S | B EY S
been B IH N | B AH N
better B EH T ER
bid B IH D
birds B ER D Z
blind B L AY N D
blocked B L AA K T
blocking B L AA K IH NG
blown B L OW N
blue B L UW
boards B AO R D Z
bomber B AA M ER
both B OW TH
brake B R EY K
brakes B R EY K S
braking B R EY K IH NG
bread B R EH D
breaks B R EY K S
breakup B R EY K AH P
broke B R OW K
broken B R OW K AH N
but B AH T
c S IY
cable K EY B AH L
called K AO L D
calls K AO L Z
can K AE N | K AH N
can't K AE N T
canal K AH N AE L
cancelled K AE N S AH L D
cannot K AE N AA T | K AH N AA T
canopy K AE N AH P IY
captain K AE P T AH N
cargo K AA R G OW
case K EY S
catch K AE CH
caution K AA SH AH N | K AO SH AH N
ceiling S IY L IH NG
centre S EH N T ER
change CH EY N JH
changing CH EY N JH IH NG
channel CH AE N AH L
chip CH IH P
circling S ER K AH L IH NG | S ER K L IH NG
circuits S ER K AH T S
clearance K L IH R AH N S
clears K L IH R Z
climbs K L AY M Z
close K L OW S | K L OW Z
closes K L OW Z IH Z
clothes K L OW DH Z | K L OW Z
cockpit K AA K P IH T
come K AH M
comes K AH M Z
comma K AA M AH
complete K AH M P L IY T
confirming K AH N F ER M IH NG
control K AH N T R OW L
controls K AH N T R OW L Z
converging K AH N V ER JH IH NG
copies K AA P IY Z
corey K AO R IY
corner K AO R N ER
correct K ER EH K T
could K UH D
cradle K R EY D AH L
crane K R EY N
crash K R AE SH
crew K R UW
cross K R AO S
crossing K R AO S IH NG
d D IY
damage D AE M AH JH | D AE M IH JH
dead D EH D
declare D IH K L EH R
declared D IH K L EH R D
declaring D IH K L EH R IH NG
degree D IH G R IY
delaying D IH L EY IH NG
departing D IH P AA R T IH NG
descending D IH S EH N D IH NG
descends D IH S EH N D Z
details D IH T EY L Z | D IY T EY L Z
did D IH D
didn't D IH D AH N T | D IH D N T | D IH D AH N | D IH N T
difficulty D IH F AH K AH L T IY | D IH F IH K AH L T IY
direction D ER EH K SH AH N | D IY R EH K SH IH N | D AY R EH K SH IH N | D IH R EH K SH IH N
divert D AY V ER T | D IH V ER T
diverting D AY V ER T IH NG | D IH V ER T IH NG
don't D OW N T | D OW N
drone D R OW N
dry D R AY
e IY
early ER L IY
eastbound IY S T B AW N D
easterly IY S T ER L IY
eject IH JH EH K T
ejecting IH JH EH K T IH NG
electric IH L EH K T R IH K
electrical IH L EH K T R IH K AH L
element EH L AH M AH N T
else EH L S
emergencies IH M ER JH AH N S IY Z | IY M ER JH AH N S IY Z
enable EH N EY B AH L | IH N EY B AH L
enabled EH N EY B AH L D | IH N EY B AH L D
enough IH N AH F | IY N AH F
enter EH N T ER | EH N ER
entering EH N T ER IH NG | EH N ER IH NG
erin EH R IH N
established IH S T AE B L IH SH T
evening IY V N IH NG
executing EH K S AH K Y UW T IH NG
exercise EH K S ER S AY Z
exiting EH G Z IH T IH NG
expedite EH K S P IH D AY T
expediting EH K S P AH D AY T IH NG
extended IH K S T EH N D AH D | IH K S T EH N D IH D
f EH F
fable F EY B AH L
factor F AE K T ER
fail F EY L
failed F EY L D
faster F AE S T ER
feeling F IY L IH NG
fell F EH L
felt F EH L T
field F IY L D
fighter F AY T ER
file F AY L
flame F L EY M
flap F L AE P
fluctuating F L AH K CH AH W EY T IH NG
fly F L AY
flying F L AY IH NG
fog F AA G | F AO G
foot F UH T
forced F AO R S T
fourth F AO R TH
frequencies F R IY K W AH N S IY Z
frequency F R IY K W AH N S IY
g JH IY
gable G EY B AH L
garden G AA R D AH N
generator JH EH N ER EY T ER
get G EH T | G IH T
getting G EH T IH NG | G IH T IH NG
give G IH V
gives G IH V Z
glider G L AY D ER
goal G OW L
goes G OW Z
gone G AO N
greens G R IY N Z
guard G AA R D
gun G AH N
gust G AH S T
had HH AE D
hair HH EH R
hand HH AE N D
hang HH AE NG
hard HH AA R D
has HH AE Z | HH AH Z
haven't HH AE V AH N T | HH AE V AH N
he HH IY
headings HH EH D IH NG Z
hear HH IY R
hearing HH IY R IH NG
heavy HH EH V IY
helicopter HH EH L IH K AA P T ER
hello HH AH L OW | HH EH L OW
heroine HH EH R OW AH N
herring HH EH R IH NG
high HH AY
his HH IH Z
hit HH IH T
hmm HH M
ho HH OW
home HH OW M
hook HH UH K
horn HH AO R N
hour AW ER | AW R
hours AW ER Z | AW R Z
hundreds HH AH N D R AH D Z | HH AH N D ER D Z | HH AH N ER D Z
hurry HH ER IY
hydraulics HH AY D R AO L IH K S
i AY
i'll AY L
i've AY V
ice AY S
immediate IH M IY D IY AH T
immediately IH M IY D IY AH T L IY
inch IH N CH
increase IH N K R IY S
increasing IH N K R IY S IH NG
indicate IH N D AH K EY T
indicates IH N D IH K EY T S
indication IH N D AH K EY SH AH N
initials IH N IH SH AH L Z
injured IH N JH ER D
ins IH N Z | AY EH N EH S
instructor IH N S T R AH K T ER
intersection IH N T ER S EH K SH AH N
interval IH N T ER V AH L
into IH N T UW | IH N T AH
isn't IH Z AH N T | IH Z AH N
it's IH T S
its IH T S
j JH EY
jammed JH AE M D
join JH OY N
joining JH OY N IH NG
joker JH OW K ER
just JH AH S T | JH IH S T
k K EY
knot N AA T
l EH L
label L EY B AH L
ladle L EY D AH L
landed L AE N D AH D | L AE N D IH D
lands L AE N D Z
late L EY T
later L EY T ER
leader L IY D ER
leak L IY K
leaking L IY K IH NG
let L EH T
letter L EH T ER
letters L EH T ER Z
leveling L EH V AH L IH NG | L EH V L IH NG
light L AY T
lights L AY T S
lime L AY M
lineup L AY N AH P
listening L IH S AH N IH NG | L IH S N IH NG
look L UH K
looks L UH K S
loss L AO S
lost L AO S T
lovely L AH V L IY
m EH M
ma'am M AE M
magnetic M AE G N EH T IH K
main M EY N
maintaining M EY N T EY N IH NG
make M EY K
making M EY K IH NG
maple M EY P AH L
marlin M AA R L AH N | M AA R L IH N
martin M AA R T AH N | M AA R T IH N
maximum M AE K S AH M AH M
may M EY
me M IY
meadow M EH D OW
medical M EH D AH K AH L | M EH D IH K AH L
medium M IY D IY AH M
mercury M ER K Y ER IY
message M EH S AH JH | M EH S IH JH
microphone M AY K R AH F OW N
mid M IH D
midpoint M IH D P OY N T
might M AY T
min M IH N
minute M IH N AH T | M AY N UW T | M AY N Y UW T
moderate M AA D ER AH T | M AA D ER EY T
moment M OW M AH N T
monitor M AA N AH T ER
monitoring M AA N AH T ER IH NG
more M AO R
morton M AO R T AH N
must M AH S T
nautical N AO T AH K AH L
nearly N IH R L IY
never N EH V ER
nice N AY S | N IY S
night N AY T
nil N IH L
northbound N AO R TH B AW N D
northerly N AO R DH ER L IY
nothing N AH TH IH NG
o OW
obstruction AH B S T R AH K SH AH N
odds AA D Z
official AH F IH SH AH L
oil OY L
once W AH N S
one's W AH N Z
only OW N L IY
open OW P AH N
opposite AA P AH Z AH T | AA P Z AH T
orbiting AO R B AH T IH NG
other AH DH ER
overcast OW V ER K AE S T
overshoot OW V ER SH UW T
overshooting OW V ER SH UW T IH NG
oxygen AA K S AH JH AH N | AA K S IH JH AH N
p P IY
pace P EY S
parallel P EH R AH L EH L
part P AA R T
partial P AA R SH AH L
passenger P AE S AH N JH ER
passengers P AE S AH N JH ER Z
passing P AE S IH NG
perched P ER CH T
person P ER S AH N
persons P ER S AH N Z
pilot P AY L AH T
place P L EY S
plus P L AH S
points P OY N T S
poor P UW R
power P AW ER
precautionary P R IH K AO SH AH N EH R IY
pressure P R EH SH ER
pretty P R IH T IY
problem P R AA B L AH M
progress P R AA G R EH S | P R AH G R EH S | P R OW G R EH S
propeller P R AH P EH L ER
pull P UH L
pulled P UH L D
pulling P UH L IH NG
pushing P UH SH IH NG
quarries K W AO R IY Z
query K W IY R IY
quiet K W AY AH T
r AA R
rain R EY N
ramp R AE M P
rather R AE DH ER | R AH DH ER
readability R IY D AH B IH L IH T IY
readable R IY D AH B AH L
real R IY L
received R AH S IY V D | R IH S IY V D | R IY S IY V D
receiver R AH S IY V ER | R IH S IY V ER | R IY S IY V ER
reddy R EH D IY
reduce R AH D UW S | R IH D UW S | R IY D UW S
reducing R AH D UW S IH NG | R IH D UW S IH NG | R IY D UW S IH NG
rejected R IH JH EH K T IH D | R IY JH EH K T IH D
rejecting R IH JH EH K T IH NG | R IY JH EH K T IH NG
rejoin R IY JH OY N
rejoining R IY JH OY N IH NG
remain R IH M EY N | R IY M EY N
remaining R IH M EY N IH NG | R IY M EY N IH NG
repeat R IH P IY T | R IY P IY T
reports R IH P AO R T S | R IY P AO R T S
rescue R EH S K Y UW
restart R IY S T AA R T
return R IH T ER N | R IY T ER N
returning R IH T ER N IH NG | R IY T ER N IH NG
roller R OW L ER
rolling R OW L IH NG
rollout R OW L AW T
rotate R OW T EY T
rough R AH F
run R AH N
running R AH N IH NG
runways R AH N W EY Z
s EH S
said S EH D
same S EY M
saw S AO
section S EH K SH AH N
see S IY
seen S IY N
sees S IY Z
separate S EH P ER EY T | S EH P ER IH T | S EH P R AH T
separation S EH P ER EY SH AH N
severe S AH V IH R
shall SH AE L
shear SH IH R
shore SH AO R
shorten SH AO R T AH N
shot SH AA T
showers SH AW ER Z
side S AY D
slow S L OW
slower S L OW ER
smooth S M UW DH
so S OW
solo S OW L OW
soul S OW L
southbound S AW TH B AW N D
southerly S AH DH ER L IY
spacing S P EY S IH NG
speak S P IY K
squawking S K W AO K IH NG
stable S T EY B AH L
stall S T AO L
standard S T AE N D ER D
staple S T EY P AH L
stations S T EY SH AH N Z
steady S T EH D IY
steering S T IH R IH NG
stepped S T EH P T
stick S T IH K
stops S T AA P S
struck S T R AH K
structural S T R AH K CH ER AH L
stuck S T AH K
student S T UW D AH N T
sunset S AH N S EH T
surface S ER F AH S
sweeper S W IY P ER
switch S W IH CH
switching S W IH CH IH NG
t T IY
tanker T AE NG K ER
tartan T AA R T AH N
taxiing T AE K S IY IH NG
temperature T EH M P R AH CH ER | T EH M P ER AH CH ER
tempest T EH M P AH S T
terrain T ER EY N
testing T EH S T IH NG
than DH AE N | DH AH N
their DH EH R
then DH EH N
there's DH EH R Z
these DH IY Z
they're DH EH R
think TH IH NG K
those DH OW Z
thousands TH AW Z AH N D Z | TH AW Z AH N Z
threshold TH R EH SH OW L D
tight T AY T
tire T AY ER
tires T AY ER Z
today T AH D EY | T UW D EY
too T UW
topic T AA P IH K
topics T AA P IH K S
total T OW T AH L
touching T AH CH IH NG
training T R EY N IH NG
transmission T R AE N S M IH SH AH N | T R AE N Z M IH SH AH N
transmit T R AE N Z M IH T
transmitting T R AE N S M IH T IH NG
transport T R AE N S P AO R T
trouble T R AH B AH L
true T R UW
turbulence T ER B Y AH L AH N S
turns T ER N Z
twin T W IH N
two's T UW Z
u Y UW
unavailable AH N AH V EY L AH B AH L
understand AH N D ER S T AE N D
understood AH N D ER S T UH D
unreadable AH N R IY D AH B AH L
us AH S | Y UW EH S
v V IY
vacate V EY K EY T
vehicle V IY HH IH K AH L | V IY IH K AH L
verifying V EH R AH F AY IH NG
very V EH R IY
vibration V AY B R EY SH AH N
vibrations V AY B R EY SH AH N Z
vicinity V AH S IH N AH T IY | V IH S IH N IH T IY
view V Y UW
visibility V IH Z AH B IH L IH T IY
w D AH B AH L Y UW
wake W EY K
was W AA Z | W AH Z
way W EY
we'll W IY L | W IH L
we've W IY V
weak W IY K
wear W EH R
weird W IH R D
well W EH L
were W ER
westbound W EH S T B AW N D
westerly W EH S T ER L IY
wet W EH T
what W AH T | HH W AH T
what's W AH T S | HH W AH T S
wheel W IY L | HH W IY L
when W EH N | HH W EH N | W IH N | HH W IH N
where W EH R | HH W EH R
which W IH CH | HH W IH CH
while W AY L | HH W AY L
who HH UW
whom HH UW M
why W AY | HH W AY
wide W AY D
widen W AY D AH N
wildlife W AY L D L AY F
winds W IH N D Z | W AY N D Z
without W IH TH AW T | W IH DH AW T
won't W OW N T
words W ER D Z
x EH K S
y W AY
yet Y EH T
you're Y UH R | Y UW R
you've Y UW V
z Z IY
"""

# Not in the dictionary: its entries joined ("wind" and "shear", letter names), or with another ending.
_PUT_TOGETHER = """\
birdstrike B ER D S T R AY K
callsign K AO L S AY N
centerline S EH N T ER L AY N
erm ER M
go-around G OW ER AW N D
hectopascal HH EH K T OW P AE S K AH L
levelling L EH V AH L IH NG
millibars M IH L AH B AA R Z
perching P ER CH IH NG
pob P IY OW B IY
pullup P UH L AH P
qfe K Y UW EH F IY
qnh K Y UW EH N EY CH
relight R IY L AY T
uhf Y UW EY CH EH F
uhm AH M
vacates V EY K EY T S
vhf V IY EY CH EH F
waveoff W EY V AO F
windshear W IH N D SH IH R
"""
