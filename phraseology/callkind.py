"""The shape of a catalogue entry of a pilot call, and how it becomes what is expected here and now."""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace

from phraseology.elements import Kind, Severity
from phraseology.expected import Context, Expected, Instead, Never, Slot
from phraseology.parse import Parsed
from phraseology.render import say, sentence

CRITICAL, MAJOR, MINOR, NONE = Severity.CRITICAL, Severity.MAJOR, Severity.MINOR, Severity.NONE


@dataclass(frozen=True)
class SlotKind:
    """A slot of the catalogue: `value` picks the model value from the context, or is a fixed value.

    `also` values are as right as the model value, and the only right ones where the context fixes none.
    `missing` holds where the context fixes the value; where it does not, `unfixed` holds.
    """

    kind: Kind
    value: str | Callable[[Context], str | None]
    missing: Severity
    wrong: Severity
    rule: str
    unfixed: Severity | None = None
    also: frozenset[str] | Callable[[Context], frozenset[str]] = frozenset()
    tolerated: frozenset[str] = frozenset()
    instead: tuple[Instead, ...] | Callable[[Context], tuple[Instead, ...]] = ()
    rivals: frozenset[Kind] = frozenset()
    suggest: str | None = None
    """What the model call says where the context fixes nothing and any value will do."""

    def of(self, context: Context) -> Slot:
        fixed = self.value if isinstance(self.value, str) else self.value(context)
        missing = self.missing if fixed is not None or self.unfixed is None else self.unfixed
        missing = context.standard.missing.get(self.rule, missing)
        if self.kind is Kind.FIELD and not context.standard.names_field_at_end:
            missing = NONE
        also = self.also(context) if callable(self.also) else self.also
        instead = self.instead(context) if callable(self.instead) else self.instead
        accept = (also or None) if fixed is None else frozenset({fixed}) | also
        rule = context.standard.rules[self.rule]
        say = fixed if fixed is not None else self.suggest
        return Slot(self.kind, say, accept, missing, self.wrong, rule, self.tolerated, instead, self.rivals)


@dataclass(frozen=True)
class CallKind:
    """`when` is a sentence for people, `slips` are what commonly goes wrong with it.

    `gear_is_up` calls are made where "gear down" would be false; `without_tower` calls are announced.
    """

    name: str
    title: str
    when: str
    slots: tuple[SlotKind, ...]
    given_away_by: tuple[tuple[Kind, frozenset[str] | None], ...]
    gear_is_up: bool = True
    never: tuple[tuple[Kind, frozenset[str] | None, Severity, str], ...] = ()
    slips: tuple[str, ...] = ()
    without_tower: bool = False

    def expect(self, context: Context) -> Expected:
        """What the call must carry in this context, with its model words."""
        slots = tuple(slot.of(context) for slot in self.slots)
        rules = context.standard.rules
        never = tuple(Never(k, values, severity, rules[rule]) for k, values, severity, rule in self.never)
        if self.gear_is_up:
            never += (Never(Kind.GEAR, values("down"), CRITICAL, rules["gear_false"]),)
        if all(slot.kind is not Kind.RUNWAY for slot in slots):
            never += (Never(Kind.RUNWAY, None, CRITICAL, rules["runway"], but=values(context.runway)),)
        return Expected(
            name=self.name,
            title=self.title,
            slots=slots,
            model_call=_model_call(slots, context),
            context=context,
            never=never,
            keys=tuple(_key(k, values) for k, values in self.given_away_by),
        )


def _model_call(slots: Sequence[Slot], context: Context) -> str:
    return sentence(
        (slot.kind, say(slot.kind, slot.say, context.standard))
        for slot in slots
        if slot.say is not None and slot.missing is not NONE
    )


def demanding(expected: Expected, kinds: Collection[Kind]) -> Expected:
    """The call, in which these elements must be said although the standard allows to leave them out.

    Only those of which the situation fixes the value, or of which any will do.
    """
    if not kinds:
        return expected
    slots = tuple(
        replace(slot, missing=MAJOR)
        if slot.kind in kinds and slot.say is not None and slot.missing in (NONE, MINOR)
        else slot
        for slot in expected.slots
    )
    return replace(expected, slots=slots, model_call=_model_call(slots, expected.context))


def _key(kind: Kind, values: frozenset[str] | None) -> Callable[[Parsed], bool]:
    return lambda parsed: parsed.has(kind, *(values or ()))


def values(*names: str) -> frozenset[str]:
    return frozenset(names)


def fixed_number(attribute: str) -> Callable[[Context], str | None]:
    """A number of the context as the value of an element."""

    def value(context: Context) -> str | None:
        number = getattr(context, attribute)
        return None if number is None else str(number)

    return value


def the_point(*kinds: Kind) -> Callable[[Context], tuple[Instead, ...]]:
    """The point of the context, said as one of these kinds."""
    return lambda c: tuple(Instead(kind, None if c.point is None else values(c.point)) for kind in kinds)


def about_there(context: Context) -> frozenset[str]:
    """A position counts as right within two miles: the aircraft moves while it is said (common practice)."""
    if context.where is None:
        return frozenset()
    miles, direction = context.where.split()
    return frozenset(f"{int(miles) + off} {direction}" for off in (-2, -1, 0, 1, 2))
