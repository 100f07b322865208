"""A study with some of its values replaced."""

from collections.abc import Mapping

from explorer import registry
from explorer.studyfile import Study

#: What a setting may be: SI, or a text of the value grammar.
Setting = float | str


def with_settings(study: Study, settings: Mapping[str, Setting]) -> Study:
    """The study with settings replaced, each now exact."""
    if not settings:
        return study
    texts = {
        address: value
        if isinstance(value, str)
        else f"{float(value)!r} {unit}".strip()
        if (unit := registry.quantity(address).unit) != "1"
        else float(value)
        for address, value in settings.items()
    }
    return study.replaced(texts)
