"""How often measured voltages lead to the right cause, on circuits drawn with one fault each.

A circuit is drawn from the trade's ranges: battery, isolator, fuse, two leads, a recorder that
takes constant power, an ignition feed. One fault is put into it, its voltages follow from Ohm's and
Kirchhoff's laws, and a meter reads them: up to 1 % off in scale, the vehicle's own restlessness,
two decimals. The circuit knows the names of the readings and nothing of the rules or their limits.

  all readings        every reading is taken: the cause that comes first, and how often it is right
  half of them        each reading is taken or not by chance
  by the advice       battery at rest and plug first, then what the tool says to measure next, until
                      a cause is called likely
  at random           the same, the next reading drawn by chance

Run: python benchmarks/power_volts.py [circuits a cause] [--tune]; tuning seeds and test seeds are
apart. Writes benchmarks/results/power_volts.json unless --tune.
"""

from __future__ import annotations

import json
import platform
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from math import inf, isinf, sqrt
from pathlib import Path

import numpy as np

from asfound.jobs.ask_volts import ask_volts
from asfound.jobs.judge_volts import Diagnosis, Standing, judge_volts
from asfound.model.voltage_rules import VoltageRules
from asfound.ports.backends.voltage_rules_toml import load_voltage_rules
from asfound.version import VERSION
from machine import machine

RESULTS = Path(__file__).parent / "results" / "power_volts.json"
TUNE_SEED, TEST_SEED = 41_000_000, 97_000_000
CIRCUITS = 60
FIRST = ("battery-off", "plug-on")
RHO = 0.0172
"""Copper at 20 degrees Celsius [ohm mm2/m] (handbooks)."""
Rng = np.random.Generator


@dataclass(frozen=True)
class Circuit:
    """A vehicle of ``system`` volts. EMFs [V] by state; resistances [ohm], endless when open; the
    recorder draws ``watts`` [W] while it has ``least`` volts. Ignition feeds as shares of the
    supply by state. ``given``: what a technician knows, as texts."""

    system: int
    emf: dict[str, float]
    upper: float
    iso: float
    fuse: float
    plus: float
    earth: float
    watts: float
    least: float
    ignition: dict[str, float]
    given: dict[str, str]
    permanent: bool = True
    swapped: bool = False
    turned: bool = False
    tap: float = 1.0
    plug_state: str = "on"


def sound(rng: Rng) -> Circuit:
    """A circuit without a fault."""
    system = int(rng.choice([12, 24]))
    twice = system / 12
    rest = rng.uniform(12.55, 12.8) * twice
    emf = {
        "off": rest,
        "on": rest - rng.uniform(0.1, 0.3) * twice,
        "running": rng.uniform(13.8, 14.5) * twice,
        "cranking": rng.uniform(10.3, 11.4) * twice,
    }
    watts = rng.uniform(12, 45)
    length = rng.uniform(3, 10)
    section = float(rng.choice([1.5, 2.5] if watts < 30 else [2.5, 4.0]))
    lead = RHO * length / section * rng.uniform(1.0, 1.12)
    contact = rng.uniform(0.002, 0.01, 2)
    least = float(rng.choice([8.0, 9.0]))
    given = {
        "system": f"{system}V", "draws": f"{watts:.0f}W", "length": f"{length:.0f}m",
        "section": f"{section:g}mm2", "least": f"{least:g}V", "most": "36V",
    }  # fmt: skip
    return Circuit(
        system, emf, rest / 2 + rng.normal(0, 0.02), rng.uniform(0.001, 0.005),
        rng.uniform(0.003, 0.012), lead + contact[0], lead + contact[1], watts, least,
        {"off": 0.0, "on": 0.995, "running": 0.995, "cranking": 0.98}, given,
    )  # fmt: skip


def dropping(made: Circuit, volts: float, rest: float) -> float:
    """The resistance [ohm] that loses ``volts`` beside ``rest`` ohm under the recorder's load."""
    emf = made.emf["on"]
    for _ in range(60):
        amperes = made.watts / max(emf - volts - 0.5, 3.0)
        ohms = volts / amperes
        if emf**2 > 4 * (ohms + rest) * made.watts:
            return ohms
        volts *= 0.9
    return volts


def with_emf(made: Circuit, **emf: float) -> Circuit:
    """Other voltages of the vehicle [V], by state."""
    return replace(made, emf={**made.emf, **emf})


def with_ignition(made: Circuit, **shares: float) -> Circuit:
    """Other shares of the supply on the ignition pin, by state."""
    return replace(made, ignition={**made.ignition, **shares})


def flat(made: Circuit, rng: Rng) -> Circuit:
    """A quarter of the charge or less."""
    rest = rng.uniform(11.0, 11.95) * made.system / 12
    low = {"off": rest, "on": rest - rng.uniform(0.2, 0.8), "cranking": rest * 0.6}
    return replace(with_emf(made, **low), upper=rest / 2)


def worn(made: Circuit, rng: Rng) -> Circuit:
    """Full, and weak under load."""
    return with_emf(made, cranking=rng.uniform(6.5, 9.2) * made.system / 12)


def unequal(made: Circuit, rng: Rng) -> Circuit:
    """Two batteries apart from each other."""
    apart = rng.uniform(0.35, 1.2)
    rest = made.emf["off"] - apart
    low = {"off": rest, "on": rest - 0.3, "cranking": made.emf["cranking"] - apart}
    return replace(with_emf(made, **low), upper=(rest - apart * rng.choice([-1, 1])) / 2)


def not_charging(made: Circuit, rng: Rng) -> Circuit:
    """Nothing comes from the alternator."""
    return with_emf(made, running=made.emf["on"] - rng.uniform(0.0, 0.3) * made.system / 12)


def overcharging(made: Circuit, rng: Rng) -> Circuit:
    """A regulator that failed."""
    return with_emf(made, running=rng.uniform(15.4, 17) * made.system / 12)


def other_system(made: Circuit, rng: Rng) -> Circuit:
    """Somebody said 12 V of 24 V, or the other way round."""
    return replace(made, given={**made.given, "system": f"{36 - made.system}V"})


def thin(made: Circuit, rng: Rng) -> Circuit:
    """Sound leads that lose 6 to 11 % each."""
    wanted = rng.uniform(0.75, 1.3) * made.system / 12
    lead = dropping(made, 2 * wanted, 0.05) / 2
    length = rng.uniform(6, 15)
    section = RHO * length / lead * rng.uniform(1.0, 1.12)
    given = {**made.given, "length": f"{length:.1f}m", "section": f"{section:.2f}mm2"}
    return replace(made, plus=lead, earth=lead, given=given)


def start_dip(made: Circuit, rng: Rng) -> Circuit:
    """A recorder that needs more than a start leaves."""
    given = {**made.given, "least": f"{made.emf['cranking'] * rng.uniform(1.05, 1.12):.1f}V"}
    return replace(made, given=given)


def wrong_range(made: Circuit, rng: Rng) -> Circuit:
    """A recorder for 12 V vehicles."""
    return replace(made, given={**made.given, "most": "16V"})


FAULTS: dict[str, Callable[[Circuit, Rng], Circuit]] = {
    "recorder-itself": lambda made, rng: made,
    "battery-flat": flat,
    "battery-worn": worn,
    "bank-unequal": unequal,
    "not-charging": not_charging,
    "overcharging": overcharging,
    "other-system": other_system,
    "half-bank": lambda made, rng: replace(made, tap=0.5),
    "isolator-off": lambda made, rng: replace(made, iso=inf),
    "fuse-blown": lambda made, rng: replace(made, fuse=inf),
    "fuse-contact": lambda made, rng: replace(
        made, fuse=dropping(made, rng.uniform(0.45, 2.0), 0.3)
    ),
    "plus-open": lambda made, rng: replace(made, plus=inf),
    "plus-joint": lambda made, rng: replace(
        made, plus=made.plus + dropping(made, rng.uniform(1.0, 3.0) * made.system / 12, 0.3)
    ),
    "bad-earth": lambda made, rng: replace(
        made,
        earth=inf if rng.random() < 0.25
        else made.earth + dropping(made, rng.uniform(0.8, 3.0) * made.system / 12, 0.3),
    ),
    "thin-leads": thin,
    "ignition-missing": lambda made, rng: with_ignition(made, on=0.0, running=0.0, cranking=0.0),
    "ignition-permanent": lambda made, rng: with_ignition(made, off=0.995),
    "ignition-leaks": lambda made, rng: with_ignition(made, off=rng.uniform(0.12, 0.45)),
    "ignition-drops": lambda made, rng: with_ignition(made, cranking=rng.uniform(0.0, 0.2)),
    "supply-switched": lambda made, rng: replace(made, permanent=False),
    "feeds-swapped": lambda made, rng: replace(made, swapped=True),
    "wrong-range": wrong_range,
    "start-dip": start_dip,
    "reversed": lambda made, rng: replace(made, turned=True),
    "readings-apart": lambda made, rng: replace(made, plug_state="running"),
}  # fmt: skip
"""Every cause, as what it does to a sound circuit."""
ONLY_24 = {"bank-unequal", "half-bank", "wrong-range"}


def draw(cause: str, rng: Rng) -> Circuit:
    """A circuit with this fault."""
    made = sound(rng)
    while cause in ONLY_24 and made.system != 24:
        made = sound(rng)
    return FAULTS[cause](made, rng)


def nodes(made: Circuit, state: str, pulled: bool = False) -> dict[str, float]:
    """Voltages against battery minus [V]: in front of and behind the fuse, supply and earth pin."""
    emf = made.emf[state] * made.tap
    if not made.permanent and state == "off":
        return {"in": emf, "out": emf, "supply": 0.0, "earth": 0.0}
    ohms = made.iso + made.fuse + made.plus + made.earth
    amperes = 0.0
    if not isinf(ohms) and not pulled and not made.turned:
        under = emf**2 - 4 * ohms * made.watts
        volts = (emf + sqrt(under)) / 2 if under > 0 else 0.0
        if volts >= min(made.least, 0.8 * emf):
            amperes = made.watts / volts
    live = {"in": 0.0 if isinf(made.iso) else emf - amperes * made.iso}
    live["out"] = 0.0 if isinf(made.fuse) else live["in"] - amperes * made.fuse
    live["supply"] = 0.0 if isinf(made.plus) else live["out"] - amperes * made.plus
    # An open earth floats: up to the supply through the recorder, nowhere when its plug is pulled.
    floating = live["supply"]
    live["earth"] = floating if isinf(made.earth) else amperes * made.earth
    return live


def readings(made: Circuit, rng: Rng) -> dict[str, float]:
    """What a meter shows, by the names of the readings [V]."""
    twice = made.system / 12
    true = {f"battery-{state}": volts for state, volts in made.emf.items()}
    if made.system == 24:
        true |= {"upper-off": made.upper, "lower-off": made.emf["off"] - made.upper}
    at = nodes(made, "on")
    true |= {"fuse-in-on": at["in"], "fuse-out-on": at["out"], "earth-on": at["earth"]}
    for state in made.emf:
        seen = nodes(made, made.plug_state if state == "on" else state)
        true[f"plug-{state}"] = seen["supply"] - seen["earth"]
    free = nodes(made, "on", pulled=True)
    true["plug-open"] = free["supply"] - free["earth"]
    for state, share in made.ignition.items():
        if state != "running":
            true[f"ignition-{state}"] = share * made.emf[state]
    if made.swapped:
        for state in ("off", "on", "cranking"):
            one, other = f"plug-{state}", f"ignition-{state}"
            true[one], true[other] = true[other], true[one]
    if made.turned:
        for name in ("plug-on", "plug-open", "plug-off", "plug-running", "plug-cranking"):
            true[name] = -true[name]
    scale = 1 + float(np.clip(rng.normal(0, 0.004), -0.01, 0.01))
    return {
        name: round(volts * scale + rng.normal(0, 0.012) * twice, 2) for name, volts in true.items()
    }


def judge(made: Circuit, seen: Mapping[str, float], rules: VoltageRules) -> Diagnosis:
    """What the tool says to these readings and what is known, typed as a person types it."""
    said = {name: f"{volts:.2f}V" for name, volts in seen.items()}
    if made.given["system"] == "12V":
        said = {name: text for name, text in said.items() if name not in ("upper-off", "lower-off")}
    request = ask_volts({**said, **made.given}, rules)
    return judge_volts(request, rules)


@dataclass
class Score:
    """Right and wrong first causes among ``met``; readings taken."""

    met: int = 0
    right: int = 0
    likely_wrong: int = 0
    taken: int = 0

    def add(self, cause: str, told: Diagnosis, taken: int) -> None:
        """One circuit more."""
        first = told.causes[0]
        self.met += 1
        self.taken += taken
        likely = first.standing is Standing.LIKELY
        self.right += likely and first.cause.id == cause
        self.likely_wrong += likely and first.cause.id != cause

    def data(self) -> dict[str, float]:
        """Shares [1] and the mean number of readings."""
        return {
            "circuits": self.met,
            "right": round(self.right / self.met, 4),
            "likely_but_wrong": round(self.likely_wrong / self.met, 4),
            "readings": round(self.taken / self.met, 2),
        }


def walk(
    made: Circuit, seen: Mapping[str, float], rules: VoltageRules, rng: Rng | None
) -> tuple[Diagnosis, int]:
    """From the first two readings on until a cause is likely; ``rng``: the next by chance."""
    taken = {name: seen[name] for name in FIRST}
    while True:
        told = judge(made, taken, rules)
        left = [name for name in seen if name not in taken]
        if told.causes[0].standing is Standing.LIKELY or not left:
            return told, len(taken)
        advised = [one.reading.id for one in told.next if one.reading.id in left]
        if rng is not None:
            name = str(rng.choice(left))
        elif advised:
            name = advised[0]
        else:
            return told, len(taken)
        taken[name] = seen[name]


def measure(rules: VoltageRules, seed: int, circuits: int) -> dict[str, object]:
    """Scores of every way, and of each cause with all readings."""
    ways = {
        name: Score() for name in ("all readings", "half of them", "by the advice", "at random")
    }
    causes = {cause: Score() for cause in FAULTS}
    for number, cause in enumerate(FAULTS):
        rng = np.random.default_rng([seed, number])
        for _ in range(circuits):
            made = draw(cause, rng)
            seen = readings(made, rng)
            told = judge(made, seen, rules)
            ways["all readings"].add(cause, told, len(seen))
            causes[cause].add(cause, told, len(seen))
            half = {name: volts for name, volts in seen.items() if rng.random() < 0.5}
            if half:
                ways["half of them"].add(cause, judge(made, half, rules), len(half))
            ways["by the advice"].add(cause, *walk(made, seen, rules, None))
            ways["at random"].add(cause, *walk(made, seen, rules, rng))
    return {
        "ways": {name: score.data() for name, score in ways.items()},
        "causes": {name: score.data() for name, score in causes.items()},
    }


def main(arguments: list[str]) -> None:
    """Measures, prints, and stores unless tuning."""
    tune = "--tune" in arguments
    numbers = [int(word) for word in arguments if word.isdigit()]
    seed, circuits = (TUNE_SEED if tune else TEST_SEED), (numbers[0] if numbers else CIRCUITS)
    told = measure(load_voltage_rules(), seed, circuits)
    result = {
        "made": datetime.now(UTC).isoformat(timespec="seconds"),
        "version": VERSION,
        "python": platform.python_version(),
        "machine": machine(),
        "seed": seed,
        **told,
    }
    text = json.dumps(result, indent=1)
    print(text)
    if not tune:
        RESULTS.write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
