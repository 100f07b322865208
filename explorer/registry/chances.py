"""Chances that may be wished for or limited: of a status, of a warning, of a form of contact of some pair or of one."""

import re
from dataclasses import replace
from typing import Final, NamedTuple

from explorer.registry.names import CONTACT_FORMS, STATUSES, WARNINGS
from explorer.registry.quantity import Quantity, share
from explorer.registry.spellings import nearest

#: In front of what may happen: "chance.constricted", "chance.arc", "chance.electrodes.main.arc".
CHANCE: Final = "chance."

_NOUNS: Final = {"none": "no contact", "spark": "a spark", "diffuse": "diffuse contact", "arc": "an arc"}
_OF_PAIR: Final = re.compile(r"electrodes\.([a-z][a-z0-9_]*)\.([a-z]+)")
_SENTENCES: Final = {own.name: own.sentence for own in STATUSES} | {w.code: w.sentence for w in WARNINGS}


class FormOfContact(NamedTuple):
    """A form in which a pair conducts, as something that may happen."""

    form: str  #: One of `CONTACT_FORMS`
    pair: str  #: Which pair's; empty for any of them

    @property
    def code(self) -> int:
        """The number that the output `contact` has then."""
        return CONTACT_FORMS.index(self.form)

    @property
    def words(self) -> str:
        """How a sentence calls it: "an arc at the main pair"."""
        return f"{_NOUNS[self.form]} at the {self.pair} pair" if self.pair else _NOUNS[self.form]


def form_of_contact(event: str) -> FormOfContact | None:
    """Return the form of contact that "arc" or "electrodes.main.arc" is; None for what is none."""
    match = _OF_PAIR.fullmatch(event)
    form, pair = (match[2], match[1]) if match else (event, "")
    return FormOfContact(form, pair) if form in CONTACT_FORMS else None


def event_words(event: str) -> str:
    """Return how a sentence calls what may happen: "constricted", "an arc at the main pair"."""
    form = form_of_contact(event)
    title = next((warning.title for warning in WARNINGS if warning.code == event), None)
    return title or (form.words if form is not None else event.replace("_", " "))


def chance(address: str) -> Quantity | None:
    """Return what is said of the chance at an address; None where nothing of that name may happen."""
    event = address.removeprefix(CHANCE)
    own, warned = form_of_contact(event), event in {warning.code for warning in WARNINGS}
    words = f'"{event_words(event)}"' if warned else event_words(event)
    if event in _SENTENCES:
        sentence = f"Share of firings with it. {_SENTENCES[event]}"
    elif own is not None:
        where = f"the {own.pair} pair" if own.pair else "some pair"
        sentence = f"Share of firings with {_NOUNS[own.form]} at {where}, by its form of contact."
    else:
        return None
    whole = share("P", sentence, shown_unit="%", address=address, words=f"chance of {words}")
    return replace(whole, kind="chance", may_be_uncertain=False)


def no_chance(address: str) -> str:
    """Return what is wrong with an address of which nothing may happen, with the nearest of what may."""
    event = address.removeprefix(CHANCE)
    match = re.fullmatch(r"(electrodes\.[^.]+\.)(.*)", event)
    place = match[1] if match else ""
    known = CONTACT_FORMS if place else tuple(dict.fromkeys((*_SENTENCES, *CONTACT_FORMS)))
    guess = nearest(event.removeprefix(place), known)
    hint = f'did you mean "{CHANCE}{place}{guess}"?' if guess else f"known: {', '.join(known)}"
    return f'"{event}" is no status, no warning and no form of contact: {hint}'
