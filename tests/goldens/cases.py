"""What the golden files hold: a command line each, and the studies that it works on."""

from pathlib import Path
from typing import NamedTuple

from study.texts import of_one_mixture_ratio

from goldens.saying import SHARE

DEMO = Path(__file__).parents[1] / "studies"
SHOWN = Path(__file__).parents[2] / "studies"  #: what a user finds, by whose numbers no other test holds
SMALL = ["--formats", "", "--jobs", "1"]


#: Share of themselves within which numbers are the same on another processor: of the few electrons of unseeded gas,
#: which the equilibrium's solver leaves so far open, of what a search finds on flat ground, by its last digits, and
#: of a share next to nothing, which is a difference of sums.
UNSEEDED, SEARCHED, CANCELLING = 5e-4, 3e-2, 1e-4


class Case(NamedTuple):
    """One command line; a slow one is replayed in the slow run only."""

    arguments: list[str]
    slow: bool = False
    share: float = SHARE  #: of themselves within which its numbers are the same


def _demo(name: str) -> str:
    return (DEMO / f"{name}.toml").read_text(encoding="utf-8")


def studies() -> dict[str, str]:
    """Return the studies by file name: the demo's, and variants of them."""
    bench, sounding = _demo("bench"), _demo("sounding")
    found = {f"{path.stem}.toml": path.read_text(encoding="utf-8") for path in sorted(DEMO.glob("*.toml"))}
    searched = of_one_mixture_ratio(bench.partition("[vary]")[0])
    vary = """[vary]
"channel.gap_in" = "9 .. 16 mm"
"electrodes.main.source.voltage" = ["100 V", "150 V", "200 V"]

[wanted]
quantity = "thrust_gain"
make = "largest"
"""
    limit = '\n[[limit]]\nquantity = "{}"\n{} = "{}"\n{}\n'
    payoffs = (
        "\n[decision]\ngain_if_met = 100\nloss_if_not = 60\ncost_per_hour = 0.5\nunit = 'kEUR'\nhours = 12\n"
    )
    found |= {
        "paid.toml": bench + payoffs,
        "correlated.toml": bench
        + '\n[[correlation]]\nbetween = ["channel.gap_in", "channel.gap_out"]\nrank = 0.8\n',
        "changed.toml": 'like = "bench.toml"\ntitle = "A stronger magnet"\n\n'
        '[magnet]\nfield = "0.6 ± 0.015 T"\n',
        "current-limited.toml": searched + vary + limit.format("current", "at_most", "12 A", "chance = 0.8"),
        "impossible.toml": searched
        + vary
        + limit.format("current", "at_most", "5 A", "")
        + limit.format("thrust_gain", "at_least", "1 N", ""),
        "heavy.toml": sounding.replace('at_least = "4 N"', 'at_least = "6 N"'),
        "no-flight.toml": bench,
        "shown.toml": (SHOWN / "bench.toml").read_text(encoding="utf-8"),
        "broken.toml": "title = [",
        "weak-charger.toml": _demo("capacitor").replace('"2 kW"', '"100 W"'),
        "droop.toml": _demo("capacitor")
        .replace('rate = "5 Hz"\ncharger_power = "2 kW"\n', "")
        .replace('pulse_length = "20 ms"\n', "")
        .replace('"2.2 mF limits 0.4 mF"', '"0.5 F"'),
        "three.csv": "name;electrodes.main.source.voltage [V];current [A];exit_pressure_change [mbar]\n"
        "F1;150;10,4;1,1\nF2;150;0,02;0\n",
        "two-seeds.toml": _demo("arc-heated").replace("{ N2 = 1 }", "{ N2 = 0.98, Cs = 0.02 }"),
        "sooty-flows.toml": 'like = "bench.toml"\n[gas.flows]\nfuel = "30 g/s"\noxidizer = "8 g/s"\n'
        'seed_solution = "1.7 g/s"\n',
        "no-concentration.toml": bench.replace('seed_water = "0.95 .. 1.2"\n', "")
        .replace("mixture_ratio = { value = 1.95, unknown = 0.04, scatter = 0.03 }\n", "")
        .replace('seed_fraction = "1.0 ± 0.08 %"\n', "")
        .replace('chamber_pressure = { value = "12 bar", unknown = "0.1 bar", scatter = "0.15 bar" }\n', "")
        + '\n[gas.flows]\nfuel = "15 g/s"\noxidizer = "29 g/s"\nseed_solution = "1.7 g/s"\n',
        "no-density.toml": _demo("torch-flows").replace('density = "1510 kg/m^3 ± 2 %"', ""),
        "comma.toml": bench.replace('pressure = "1.013 bar"', 'pressure = "1,013 bar"'),
    }
    return found


def cases() -> dict[str, Case]:
    """Return every case by name."""
    few, base = ["--samples", "1024", *SMALL], ["--base", "256", *SMALL]
    quick = [*base, "--no-guesses"]
    answered = {
        "solve-bench": Case(["solve", "bench.toml", "--burn", "6 s", *SMALL[:2]]),
        "card-bench": Case(["card", "bench.toml", *SMALL[:2]]),
        "card-against": Case(["card", "bench.toml", "--against", "F2", "--firings", "three.csv", *SMALL[:2]]),
        "solve-shown": Case(["solve", "shown.toml", *SMALL[:2]]),
        "propagate-shown": Case(["propagate", "shown.toml", *few], slow=True),
        "rank-shown": Case(["rank", "shown.toml", *quick], slow=True),
        "card-shown": Case(["card", "shown.toml", *SMALL[:2]]),
        "solve-extraction": Case(["solve", "bench-extraction.toml", *SMALL[:2]]),
        "solve-two-pair": Case(["solve", "two-pair.toml", *SMALL[:2]]),
        "solve-sounding": Case(["solve", "sounding.toml", *SMALL[:2]]),
        "solve-cold-electrodes": Case(["solve", "cold-electrodes.toml", *SMALL[:2]]),
        "solve-cold-electrodes-struck": Case(
            ["solve", "cold-electrodes.toml", "--set", "electrodes.main.struck=yes", *SMALL[:2]]
        ),
        "solve-unseeded": Case(["solve", "unseeded.toml", *SMALL[:2]], share=UNSEEDED),
        "solve-coil": Case(["solve", "coil.toml", *SMALL[:2]], share=UNSEEDED),
        "solve-capacitor": Case(["solve", "capacitor.toml", *SMALL[:2]]),
        "solve-capacitor-once": Case(
            [
                "solve",
                "droop.toml",
                "--set",
                "electrodes.main.struck=yes",
                *SMALL[:2],
            ]
        ),
        "solve-two-stage": Case(["solve", "two-stage.toml", *SMALL[:2]], share=UNSEEDED),
        "propagate-two-stage": Case(["propagate", "two-stage.toml", *few]),
        "propagate-capacitor": Case(["propagate", "capacitor.toml", *few], slow=True),
        "rank-capacitor": Case(["rank", "capacitor.toml", *quick], slow=True, share=CANCELLING),
        "propagate-cold-electrodes": Case(["propagate", "cold-electrodes.toml", *few]),
        "solve-preionized": Case(["solve", "preionized.toml", *SMALL[:2]]),
        "solve-preionized-unseeded": Case(
            ["solve", "preionized.toml", "--set", "gas.seed=none", *SMALL[:2]], share=UNSEEDED
        ),
        "propagate-preionized": Case(["propagate", "preionized.toml", *few]),
        "solve-torch-flows": Case(["solve", "torch-flows.toml", *SMALL[:2]]),
        "solve-arc-heated": Case(["solve", "arc-heated.toml", *SMALL[:2]]),
        "solve-no-contact": Case(
            ["solve", "bench.toml", "--set", "electrodes.main.source.voltage=5 V", *SMALL[:2]]
        ),
        "solve-choked": Case(["solve", "bench.toml", "--set", "channel.gap_out=6 mm", *SMALL[:2]]),
        "solve-hot": Case(
            ["solve", "bench.toml", "--set", "electrodes.main.source.voltage=600 V", *SMALL[:2]]
        ),
        "propagate-bench": Case(["propagate", "bench.toml", *few]),
        "propagate-several": Case(
            ["propagate", "bench.toml", "--quantities", "thrust_gain,current,thrust", "--shortest", *few]
        ),
        "propagate-extraction": Case(["propagate", "bench-extraction.toml", *few]),
        "propagate-two-pair": Case(["propagate", "two-pair.toml", *few]),
        "propagate-sounding": Case(["propagate", "sounding.toml", *few]),
        "propagate-failing": Case(["propagate", "bench.toml", "--set", "channel.gap_out=7 mm", *few]),
        "propagate-digits": Case(["propagate", "bench.toml", "--digits", "1", *SMALL], slow=True),
        "propagate-same": Case(["propagate", "bench.toml", "--quantities", "max_hall_field", *few]),
        "rank-bench": Case(["rank", "bench.toml", *base], slow=True),
        "rank-bench-quick": Case(["rank", "bench.toml", *quick]),
        "rank-two-targets": Case(
            ["rank", "bench.toml", "--target", "thrust_gain,current", *quick], slow=True
        ),
        "rank-against": Case(["rank", "bench.toml", "--against", "two-pair.toml", *quick], slow=True),
        "rank-against-like": Case(["rank", "changed.toml", "--against", "bench.toml", *quick], slow=True),
        "rank-groups": Case(
            [
                "rank",
                "paid.toml",
                "--group",
                "gaps=channel.gap_in,channel.gap_out",
                "--group",
                "drops=electrodes.main.arc_voltage,electrodes.main.drop_resistance",
                *quick,
            ]
        ),
        "rank-paid": Case(["rank", "paid.toml", *quick], slow=True),
        "rank-correlated": Case(["rank", "correlated.toml", *quick], slow=True),
        "rank-failing": Case(
            ["rank", "bench.toml", "--set", "channel.gap_out=7 mm", "--no-guesses", "--base", "1024", *SMALL],
            slow=True,
        ),
        "rank-extraction": Case(["rank", "bench-extraction.toml", *quick]),
        "rank-two-pair": Case(["rank", "two-pair.toml", *quick], slow=True),
        "rank-sounding": Case(["rank", "sounding.toml", *quick], slow=True),
        "rank-elementary": Case(["rank", "bench.toml", "--elementary", *SMALL]),
        "rank-elementary-against": Case(
            ["rank", "bench.toml", "--elementary", "--against", "two-pair.toml", *SMALL], slow=True
        ),
        "rank-nothing": Case(["rank", "bench.toml", "--target", "max_hall_field", *quick]),
        "optimize-bench": Case(
            ["optimize", "bench.toml", "--budget", "60", *SMALL], slow=True, share=SEARCHED
        ),
        "optimize-limited": Case(
            ["optimize", "current-limited.toml", "--budget", "50", *SMALL], slow=True, share=SEARCHED
        ),
        "optimize-central": Case(
            ["optimize", "current-limited.toml", "--budget", "60", "--central", *SMALL], share=SEARCHED
        ),
        "optimize-impossible": Case(
            ["optimize", "impossible.toml", "--budget", "60", "--central", *SMALL], share=SEARCHED
        ),
        "optimize-impossible-chance": Case(
            ["optimize", "impossible.toml", "--budget", "50", *SMALL], slow=True, share=SEARCHED
        ),
        "optimize-trade-off": Case(
            ["optimize", "sounding.toml", "--budget", "60", "--central", *SMALL], share=SEARCHED
        ),
        "optimize-trade-off-chance": Case(
            ["optimize", "sounding.toml", "--budget", "50", *SMALL], slow=True, share=SEARCHED
        ),
        "compare-two": Case(["compare", "bench.toml", "sounding.toml", *few]),
        "compare-three": Case(["compare", "bench.toml", "two-pair.toml", "bench-extraction.toml", *few]),
        "compare-like": Case(["compare", "bench.toml", "changed.toml", *few]),
        "compare-set": Case(
            [
                "compare",
                "bench.toml",
                "sounding.toml",
                "--set",
                "magnet.field=0.5 T",
                "--quantities",
                "lorentz_force",
                *few,
            ]
        ),
        "compare-change": Case(["compare", "bench.toml", "--change", 'magnet.field = "0.6 T"', *few]),
        "scale-demo": Case(
            ["scale", "bench.toml", "--toward", "sounding.toml", "--steps", "4", *few], slow=True
        ),
        "scale-like": Case(
            ["scale", "bench.toml", "--toward", "changed.toml", "--steps", "3", *few], slow=True
        ),
        "scale-itself": Case(["scale", "bench.toml", "--toward", "bench.toml", "--samples", "512", *SMALL]),
        "flight-demo": Case(["flight", "sounding.toml", "--samples", "512", *SMALL], share=CANCELLING),
        "flight-light": Case(
            ["flight", "sounding.toml", "--set", "mass.magnet=0.01 kg", "--samples", "512", *SMALL]
        ),
        "new": Case(["new", "mine"]),
        "new-with": Case(["new", "mine", "--with", "instruments,measurements,vary,flight"]),
        "gap-distance": Case(["gap", "--distance", "14 mm"]),
        "gap-voltage": Case(
            [
                "gap",
                "--voltage",
                "42 kV",
                "--electrodes",
                "points",
                "--pressure",
                "0.8 bar",
                "--temperature",
                "5 °C",
            ]
        ),
        "gap-json": Case(["gap", "--distance", "3 cm", "--electrodes", "plates", "--json"]),
        "explain-all": Case(["explain"]),
        "explain-input": Case(["explain", "magnet.field"]),
        "explain-output": Case(["explain", "thrust_gain"]),
        "explain-command": Case(["explain", "rank"]),
        "explain-key": Case(["explain", "worth"]),
        "explain-table": Case(["explain", "[[measurement]]"]),
        "explain-page-word": Case(["explain", "not", "decided"]),
        "explain-warning": Case(["explain", "constricted"]),
        "explain-seed": Case(["explain", "potassium carbonate"]),
    }
    answered |= {
        "propagate-torch-flows": Case(
            ["propagate", "torch-flows.toml", "--quantities", "chamber_pressure", *few]
        ),
        "rank-arc-heated": Case(["rank", "arc-heated.toml", *quick], slow=True),
    }
    return answered | {f"refuse-{name}": Case(arguments) for name, arguments in _refused().items()}


def _refused() -> dict[str, list[str]]:
    def setting(value: str) -> list[str]:
        return ["solve", "bench.toml", "--set", value]

    def flows(value: str) -> list[str]:
        return ["solve", "torch-flows.toml", "--set", value]

    def heated(value: str) -> list[str]:
        return ["solve", "arc-heated.toml", "--set", value]

    return {
        "charger": ["solve", "weak-charger.toml", *SMALL[:2]],
        "coil-extraction": ["solve", "coil.toml", "--set", "mode=extraction", *SMALL[:2]],
        "flows-and-pressure": flows("gas.chamber_pressure=12 bar"),
        "flows-and-ratio": flows("gas.mixture_ratio=2"),
        "flows-soot": ["solve", "sooty-flows.toml"],
        "flows-no-concentration": ["solve", "no-concentration.toml"],
        "flows-no-density": ["solve", "no-density.toml"],
        "flows-solid": flows("gas.fuel=paraffin"),
        "flows-phase": flows("gas.flows.fuel_orifice.upstream_temperature=20 °C"),
        "flows-not-choked": [
            *flows("gas.flows.oxidizer_orifice.upstream_pressure=14 bar"),
            "--set",
            "gas.flows.oxidizer_orifice.diameter=3.8 mm",
        ],
        "flows-liquid-in": flows("gas.flows.fuel_orifice.upstream_pressure=8 bar"),
        "flows-boiling": [
            *flows("gas.oxidizer=nitrous oxide"),
            "--set",
            "gas.flows.oxidizer_orifice.upstream_pressure=60 bar",
        ],
        "flows-key": flows("gas.flows.oxidiser_orifice.diameter=2 mm"),
        "flows-one-missing": ["solve", "bench.toml", "--set", "gas.flows.fuel=15 g/s"],
        "components-unknown": heated("gas.components={ N = 0.98, Cs = 0.02 }"),
        "components-sum": heated("gas.components={ N2 = 0.9, O2 = 0.2 }"),
        "components-seed": ["solve", "two-seeds.toml"],
        "components-burn": heated("gas.mixture_ratio=2"),
        "components-hot": heated("gas.stagnation_temperature=7000 K"),
        "components-wet": heated("gas.seed_water=1"),
        "components-flows": heated("gas.flows.fuel=10 g/s"),
        "toward-another-gas": ["scale", "bench.toml", "--toward", "torch-flows.toml"],
        "no-command": ["slove", "bench.toml"],
        "option": ["solve", "bench.toml", "--frob"],
        "no-study": ["solve"],
        "no-file": ["solve", "nix.toml"],
        "folder": ["solve", "."],
        "not-toml": ["solve", "broken.toml"],
        "decimal-comma-in-file": ["solve", "comma.toml"],
        "address": setting("magnet.feild=0.6 T"),
        "output-as-input": setting("thrust=3 N"),
        "no-value": setting("magnet.field"),
        "dimension": setting("gas.chamber_pressure=12 mm"),
        "no-unit": setting("magnet.field=0.6"),
        "gauge-pressure": setting("gas.chamber_pressure=12 barg"),
        "liquid-oxygen": setting("gas.oxidizer=LOX"),
        "decimal-comma": setting("magnet.field=0,6 T"),
        "negative": setting("channel.length=-90 mm"),
        "fraction": setting("gas.seed_vaporized=1.2"),
        "nan": setting("magnet.field=nan T"),
        "infinite": setting("magnet.field=1e999 T"),
        "pair-outside": setting("electrodes.main.length=160 mm"),
        "fuel": setting("gas.fuel=ethanlo"),
        "source": setting("electrodes.main.source.kind=load"),
        "soot": setting("gas.mixture_ratio=0.3"),
        "burn": ["solve", "bench.toml", "--burn", "6"],
        "formats": ["solve", "bench.toml", "--formats", "gif"],
        "target": ["rank", "bench.toml", "--target", "thrst"],
        "base": ["rank", "bench.toml", "--base", "0"],
        "few-rows": ["rank", "bench.toml", "--base", "8"],
        "group": ["rank", "bench.toml", "--group", "gaps"],
        "group-unknown": ["rank", "bench.toml", "--group", "gaps=channel.gap_on"],
        "group-correlated": ["rank", "correlated.toml", "--group", "gaps=channel.gap_in,channel.gap_out"],
        "elementary-groups": ["rank", "bench.toml", "--elementary", "--group", "a=channel.gap_in"],
        "against": ["rank", "bench.toml", "--against", "nix.toml"],
        "jobs": ["rank", "bench.toml", "--jobs", "0.5"],
        "random-number": ["rank", "bench.toml", "--random-number", "-1"],
        "samples": ["propagate", "bench.toml", "--samples", "100"],
        "samples-and-digits": ["propagate", "bench.toml", "--samples", "512", "--digits", "2"],
        "digits": ["propagate", "bench.toml", "--digits", "9"],
        "digits-resumed": ["propagate", "bench.toml", "--digits", "2", "--resume"],
        "resume": ["propagate", "bench.toml", "--resume"],
        "quantity": ["propagate", "bench.toml", "--quantities", "thrst"],
        "input-as-quantity": ["propagate", "bench.toml", "--quantities", "magnet.field"],
        "quantity-of-pairs": ["propagate", "two-pair.toml", "--quantities", "back_emf"],
        "backend": ["propagate", "bench.toml", "--backend", "dask"],
        "no-numbers": ["propagate", "bench.toml", "--set", "channel.gap_out=6 mm"],
        "rank-no-numbers": ["rank", "bench.toml", "--set", "channel.gap_out=6 mm", "--base", "64"],
        "nothing-varied": ["optimize", "two-pair.toml"],
        "search-resume": ["optimize", "bench.toml", "--resume"],
        "one-study": ["compare", "bench.toml"],
        "compare-samples": ["compare", "bench.toml", "sounding.toml", "--samples", "9"],
        "compare-quantity": ["compare", "bench.toml", "sounding.toml", "--quantities", "thrst"],
        "toward": ["scale", "bench.toml"],
        "toward-file": ["scale", "bench.toml", "--toward", "nix.toml"],
        "toward-mode": ["scale", "bench.toml", "--toward", "bench-extraction.toml"],
        "toward-pairs": ["scale", "bench.toml", "--toward", "two-pair.toml"],
        "cost-exponent": ["scale", "bench.toml", "--toward", "sounding.toml", "--cost-exponent", "-1"],
        "no-flight": ["flight", "no-flight.toml"],
        "flight-samples": ["flight", "sounding.toml", "--samples", "0"],
        "gap-too-long": ["gap", "--distance", "2 m"],
        "gap-too-little": ["gap", "--voltage", "100 V"],
        "gap-unit": ["gap", "--distance", "14"],
        "explain": ["explain", "magnet.feild"],
        "explain-key": ["explain", "mesurement.pins"],
        "new-twice": ["new", "bench"],
        "new-with": ["new", "mine", "--with", "flgiht"],
        "out": ["solve", "bench.toml", "--out", "bench.toml/x"],
    }
