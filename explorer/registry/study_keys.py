"""Every table and key of a study besides its inputs: a sentence each, and how a value is written.

The schema says what may stand there; a test holds it against this list. Explanations and the list of keys read it.
"""

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True)
class StudyKey:
    """A table of a study, or a key in one."""

    address: str  #: "target", "target.worth"
    sentence: str
    stated: str = ""  #: of a key: whether it must be stated, or what holds if it is left out
    heading: str = ""  #: of a table: "[target]", "[[measurement]]"

    @property
    def shown(self) -> str:
        """How it is called: a table by its heading, a key by its address."""
        return self.heading or self.address


_MUST: Final = "must be stated"
_MAY: Final = "may be left out"

#: By heading: what the table is for, and its keys, each with its sentence and whether it must be stated.
_TABLES: Final[dict[str, tuple[str, dict[str, tuple[str, str]]]]] = {
    "[target]": (
        "What the study is about, and what is required of it.",
        {
            "quantity": ("The result that the study is about.", "thrust_gain if left out"),
            "at_least": ("The requirement: its smallest value that will do.", _MAY),
            "at_most": ("The requirement: its largest value that will do.", _MAY),
            "chance": ("Chance with which a firing must meet the requirement.", "0.5 if left out"),
            "worth": (
                "Share of the target's standard uncertainty that a test must take away to be worth its hours (2 % if"
                " left out, assumed).",
                _MAY,
            ),
        },
    ),
    "[vary]": (
        'What a search may change: an input\'s key = a range "8 .. 20 mm", or a list of what is in stock.',
        {},
    ),
    "[[wanted]]": (
        "What a search makes as large or as small as it can; twice for a trade-off curve.",
        {
            "quantity": (
                'The result, or "chance." and a status, a warning\'s code or a form of contact.',
                _MUST,
            ),
            "make": ('"largest" or "smallest".', _MUST),
        },
    ),
    "[[limit]]": (
        "What a design must keep to, and every firing is judged by.",
        {
            "quantity": (
                'The result, or "chance." and a status, a warning\'s code or a form of contact, such as'
                " chance.constricted, chance.arc or chance.electrodes.main.arc.",
                _MUST,
            ),
            "at_least": ("The smallest value that it may have.", _MAY),
            "at_most": ("The largest value that it may have.", _MAY),
            "chance": (
                "Chance with which the limit must hold (90 % if left out, assumed); a limit on a chance has none.",
                _MAY,
            ),
        },
    ),
    "[run]": (
        "How the run is numbered.",
        {
            "random_number": (
                "Number of the random sample: the same number gives the same figures again.",
                "1 if left out",
            ),
        },
    ),
    "[[correlation]]": (
        "Two uncertain inputs that move together.",
        {
            "between": ("The two uncertain inputs.", _MUST),
            "rank": ("Spearman's rank correlation of the two, between -1 and 1.", _MUST),
            "part": ('Which part of both moves together: "unknown" or "scatter".', "unknown if left out"),
        },
    ),
    "[model_error]": (
        "How far the model itself may be off: a result's name = relative standard uncertainty.",
        {
            "shared": (
                "Share of the error's variance that all stages on this model have in common (50 % if left out).",
                _MAY,
            ),
        },
    ),
    "[[instrument]]": (
        "A sensor, what it reads in a firing and how well.",
        {
            "name": ("A name of your own, in small letters.", _MUST),
            "reads": ("The result that it reads in a firing.", _MUST),
            "random": (
                'Standard uncertainty that falls with repeats: "0.3 N", "1 % of reading", or both with a +.',
                _MAY,
            ),
            "common": (
                "Standard uncertainty that all readings have in common, such as calibration: repeats leave it.",
                _MAY,
            ),
            "rate": ('Readings per second, such as "1 kHz".', _MAY),
            "bandwidth": ("Highest frequency that it follows.", _MAY),
            "range": ('What it can read, such as "0 .. 200 N".', _MAY),
        },
    ),
    "[[setup]]": (
        "What is put up once for several measurements.",
        {
            "name": ("A name of your own, in small letters.", _MUST),
            "hours": ("Hours to put it up, once for all that need it.", _MUST),
            "standing": (
                "Whether it stands already, so that it takes no hours any more: true or false.",
                _MAY,
            ),
            "lowest_pressure": (
                "Of an altitude cell: the lowest pressure that it holds around a firing stage.",
                _MAY,
            ),
        },
    ),
    "[[measurement]]": (
        "A test that could be made before the next firing.",
        {
            "name": ("A name of your own, in small letters.", _MUST),
            "pins": (
                "Inputs that it reads, each with the reading's standard uncertainty or { random, common }.",
                _MAY,
            ),
            "observes": (
                "Results that it reads in a firing, each with a standard uncertainty, { random, common } or the"
                " name of an instrument.",
                _MAY,
            ),
            "settings": ("Inputs that have another value in it, such as a lower voltage.", _MAY),
            "setup": ("Name of the [[setup]] that it needs.", _MAY),
            "hours": ("Hours of work, the set-up aside.", _MUST),
            "repeats": ("How often it is read.", "1 if left out"),
        },
    ),
    "[[firing]]": (
        "A firing to come, for its card.",
        {
            "name": ("A name of your own, in small letters.", _MUST),
            "seconds": ("How long it burns, where it has no steps.", _MAY),
            "settings": ("Inputs that are others in it: an address = a value.", _MAY),
            "instruments": ("Names of the instruments that read it; all of the study's if left out.", _MAY),
        },
    ),
    "[[firing.step]]": (
        "A part of the burn with settings of its own, in order: off, 100 V, off, 200 V.",
        {
            "name": ("A name, one of its own in the firing.", _MUST),
            "seconds": ("How long it lasts.", _MAY),
            "settings": ("Inputs that are others in it: an address = a value.", _MAY),
        },
    ),
    "[decision]": (
        "What a right or wrong verdict is worth.",
        {
            "gain_if_met": ("What going on brings if the requirement is met.", _MUST),
            "loss_if_not": ("What going on costs if the requirement is not met.", _MUST),
            "cost_per_hour": ("What an hour of testing costs.", "0 if left out"),
            "unit": ("Unit of gain, loss and cost, such as kEUR.", _MAY),
            "hours": ("Hours that can be spent on tests; any number if left out.", _MAY),
        },
    ),
    "[calibrated]": (
        "What firings taught, in place of what the study states: `mhdstage calibrate` writes it.",
        {
            "sample": ("File of the joint sample, beside the study.", _MUST),
            "takes": (
                '"all" that was learnt, or only what is "shared": for another stage than the one that was fired.',
                "all if left out",
            ),
            "of": ("The study that was learnt about.", _MAY),
            "firings": ("Names of the firings that it was learnt from.", _MAY),
        },
    ),
    "[flight]": (
        "The vehicle, its plain engine and the phases of its burn.",
        {},
    ),
    "[[flight.phase]]": (
        "A part of the burn, in order; in the other mode it takes that mode's source from its settings.",
        {
            "name": ("A name of your own, in small letters.", _MUST),
            "start": ('When it begins, such as "0 s"; between two phases the engine rests.', _MUST),
            "end": ('When it ends, such as "35 s".', _MUST),
            "mode": ('"acceleration", "extraction", or "off" for an open circuit.', _MUST),
            "throttle": ("Chamber pressure over the study's own; the plain engine follows.", "1 if left out"),
            "settings": (
                'Inputs that have another value in it: { "electrodes.main.source.resistance" = "2 ohm" }.',
                _MAY,
            ),
        },
    ),
}

_TOP: Final = {
    "like": (
        "Another study's file, of which this one states only what differs: the same hardware with a change. A limit of "
        'that study is taken back by "no limit".',
        _MAY,
    ),
    "rig": (
        'With like: "another" is a second build of the same drawing; only what carries a shared name is common.',
        _MAY,
    ),
    "title": ("What the study is called on pages.", _MAY),
}


def _study_keys() -> dict[str, StudyKey]:
    found = [StudyKey(key, *said) for key, said in _TOP.items()]
    for heading, (sentence, keys) in _TABLES.items():
        address = heading.strip("[]")
        found.append(StudyKey(address, sentence, heading=heading))
        found += [StudyKey(f"{address}.{key}", *said) for key, said in keys.items()]
    return {item.address: item for item in found}


#: By address; a table stands before its keys.
STUDY_KEYS: Final = _study_keys()

#: How a value may be written, and how it is read.
VALUE_FORMS: Final = (
    ('"0.48 T"', "exact"),
    ('"0.48 ± 0.02 T", "0.48 +/- 0.02 T", "0.48 T ± 4 %"', "normal, one standard uncertainty"),
    ('"0.48 ± 0.04 T (k=2)"', "normal, expanded uncertainty"),
    ('"0.48 T limits 0.02 T"', "anything within the limits, a maker's tolerance"),
    ('"20 .. 60 V"', "anything in between, equally likely"),
    ('"1.0 ± 0.2 %"', "percentage points"),
    ("{ low, peak, high }", "triangular"),
    ("{ median, factor }", "lognormal, 95 % within median/factor … median·factor"),
    ("{ mean, sd, low, high }", "normal, cut; mean and sd before the cut"),
    ("{ values = [...] }", "four or more readings: t distribution of their mean"),
    ("{ value, unknown, scatter }", "what a test can pin down, and what falls anew at each firing"),
)

#: Keys of a value's table that mean the same in every form.
VALUE_KEYS: Final = {
    "unknown": "The part of a ± that is fixed but not known: a test can pin it down. A ± is unknown unless said.",
    "scatter": "The part of a ± that falls anew at each firing: no test removes it.",
    "part": 'Which part a value\'s ± is: "unknown" (if left out) or "scatter".',
    "shared": "A name: the same thing in several studies, or under two keys of one, drawn once for all of them.",
}
