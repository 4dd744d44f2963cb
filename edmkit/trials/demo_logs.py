"""Makes the invented logs of the demo jobs: the kit's own model, a stated shop, noise and a seed.

``python -m edmkit.trials.demo_logs`` writes them into ``data_demo``. No burn in them ever was.
"""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from edmkit.burn import predict
from edmkit.knowledge import SPREADS
from edmkit.materials import dielectric, electrode_material, work_material
from edmkit.settings import Settings, Setup
from edmkit.trials.csv_write import csv_text
from edmkit.trials.measured import Measured
from edmkit.trials.trial import Trial

_SHARE = 0.6  # of the usual difference from burn to burn: a careful person
_QUANTITIES = ("removal_rate", "relative_wear", "gap_side", "roughness_Ra")


@dataclass(frozen=True)
class Kind:
    """One kind of burn of a log: what is dialled, how large the end and the work are."""

    trial: Trial
    electrode_mm: float
    depth_mm: float
    volume_mm3: float


@dataclass(frozen=True)
class Log:
    """A log to be made: its file, what is invented, the shop's factors, and its burns.

    ``burns`` are (kind, changes): changes of the trial's columns, and ``slower`` for how many
    times slower a burn went than the shop's own constants say.
    """

    file: str
    words: str
    factors: dict
    seed: int
    burns: tuple


def trials_of(log):
    """Return the burns of a log, measured as a shop would: rounded to what its tools show.

    Parameters
    ----------
    log : Log
        What to make.
    """
    random = np.random.default_rng(log.seed)
    return tuple(_burned(random, log, n, kind, dict(changes))
                 for n, (kind, changes) in enumerate(log.burns, 1))  # fmt: skip


def _burned(random, log, number, kind, changes):
    """Return one burn as it was written down."""
    slower = changes.pop("slower", 1.0)
    trial = replace(kind.trial, id=f"{log.seed:08d}{number:024d}", burn=str(number), **changes)
    burn = predict(trial.setup(), trial.settings())
    off = {q: log.factors[q] * np.exp(_SHARE * SPREADS[q].noise * random.standard_normal())
           for q in _QUANTITIES}  # fmt: skip
    rate = float(burn.removal_rate_mm3_per_min.likely) * off["removal_rate"] / slower
    wear = float(burn.relative_wear_percent.likely) * off["relative_wear"] / 100
    gap = float(burn.gap_side_um.likely) * off["gap_side"] / 1000
    rough = float(burn.roughness_Ra_um.likely) * off["roughness_Ra"]
    depth = kind.depth_mm + 0.01 * random.standard_normal()
    minutes = kind.volume_mm3 / (rate * trial.settings().burn_share)
    worn = wear * kind.volume_mm3 / trial.section_mm2
    return replace(
        trial,
        volume_mm3=round(kind.volume_mm3, 2),
        minutes=Measured(round(minutes, 1), "watch"),
        depth_mm=Measured(round(depth, 2), "dial"),
        electrode_size_mm=Measured(kind.electrode_mm, "micrometer"),
        hole_size_mm=Measured(round(kind.electrode_mm + 2 * gap, 3), "micrometer"),
        end_wear_mm=Measured(max(round(worn, 2), 0.01), "caliper"),
        roughness_Ra_um=Measured(round(rough, 1), "stylus"),
    )


def _trial(work, settings, area, section, **columns):
    """Return the burn that all burns of one kind share."""
    pair = work_material(work), electrode_material("copper")
    setup = Setup(*pair, dielectric("edm_oil"), "electrode positive", area)
    dialled = {name: getattr(settings, name) for name in (
        "peak_current_A", "on_time_us", "off_time_us", "open_voltage_V", "lift_burn_s",
        "lift_up_s")}  # fmt: skip
    return Trial(
        work=work,
        electrode=setup.electrode.key,
        polarity=setup.polarity,
        fluid=setup.dielectric.key,
        engaged_area_mm2=area,
        section_mm2=section,
        **dialled,
        **columns,
    )


def _lifted(amps, on_us, off_us):
    return Settings(amps, on_us, off_us, open_voltage_V=100.0, lift_burn_s=4.0, lift_up_s=1.0)


def _hex_sockets():
    """Return the log of the hex sockets: a suction line blocks half-way through the batch."""
    shared = {"job": "hex sockets (invented)", "flushing_quality": "good", "face": "Flat",
              "shape": "RegularPolygon"}  # fmt: skip
    rough = Kind(
        _trial("52100", Settings(6.0, 100.0, 50.0, open_voltage_V=100.0), 12.2, 12.2,
               stage="rough", flushing="suction", bore_mm=1.2, target_size_mm=4.06, **shared),
        3.921, 3.90, 50.1,
    )  # fmt: skip
    finish = Kind(
        _trial("52100", _lifted(3.0, 50.0, 50.0), 13.9, 13.9,
               stage="finish", flushing="lift only", target_size_mm=4.06, **shared),
        4.007, 4.00, 6.98,
    )  # fmt: skip
    burns = []
    for pin in range(1, 10):
        changes = {"part": f"pin {pin}"}
        blocked = {
            7: {"slower": 2.6, "remark": "slow, nobody knew why"},
            8: {"slower": 2.9, "state": "flushing blocked",
                "remark": "suction line blocked by a chip of the pip; reversed, then clear"},
        }.get(pin, {})  # fmt: skip
        burns += [(rough, changes | blocked), (finish, changes)]
    words = ("Hex sockets in dowel pins. The shop burns 3.5 times as fast as the kit's model, "
             "wears 2 times as fast, its side gap is 0.75 times as wide; the suction line blocks "
             "at pins 7 and 8.")  # fmt: skip
    factors = {"removal_rate": 3.5, "relative_wear": 2.0, "gap_side": 0.75, "roughness_Ra": 1.1}
    return Log("hex_sockets_log.csv", words, factors, 4060, tuple(burns))


def _keyways():
    """Return the log of the keyways: solid stock at two currents, a new batch of gears."""
    shared = {"job": "gear keyways (invented)", "flushing": "side jet", "flushing_quality": "fair",
              "face": "Flat", "shape": "Keyway", "target_size_mm": 5.0}  # fmt: skip
    kinds = {
        amps: Kind(
            _trial("H13", _lifted(amps, on, off), 12.2, 12.2, stage="rough", **shared),
            4.947, depth, 12.4 * depth,
        )
        for amps, on, off, depth in ((3.0, 50.0, 50.0, 20.0), (1.5, 20.0, 20.0, 2.0))
    }  # fmt: skip
    burns = [(kinds[3.0 if gear % 3 else 1.5], {"part": f"gear {gear}"}) for gear in range(1, 7)]
    burns += [(kinds[3.0], {"part": f"gear {gear}", "flushing": "pressure"}) for gear in (7, 8, 9)]
    words = ("Keyways in gears. The shop burns 3.5 times as fast as the kit's model, wears 2 "
             "times as fast, its side gap is 0.75 times as wide.")  # fmt: skip
    factors = {"removal_rate": 3.5, "relative_wear": 2.0, "gap_side": 0.75, "roughness_Ra": 0.9}
    return Log("gear_keyways_log.csv", words, factors, 1600, tuple(burns))


def _rollers():
    """Return the log of the rollers: a slow shop that wears its electrodes fast."""
    hole = Kind(
        _trial("52100", _lifted(3.0, 50.0, 50.0), 7.07, 7.07, job="domed rollers (invented)",
               shape="Round", face="Ball", offset_mm=4.0, flushing="lift only",
               flushing_quality="fair", target_size_mm=3.05, target_depth_mm=5.0,
               touch="contact, in place", stop_mm=5.64),
        3.00, 5.00, 36.46,
    )  # fmt: skip
    burns = [
        (hole, {"part": f"roller {n // 2 + 1}, hole {'ab'[n % 2]}",
                **({"remark": "lift timer stuck for a while", "slower": 1.6} if n == 4 else {})})
        for n in range(12)
    ]  # fmt: skip
    words = ("Blind holes in domed rollers. The shop burns 5 times slower than the kit's model, "
             "wears 3 times as fast, its side gap is 0.7 times as wide.")  # fmt: skip
    factors = {"removal_rate": 0.2, "relative_wear": 3.0, "gap_side": 0.7, "roughness_Ra": 1.0}
    return Log("domed_rollers_log.csv", words, factors, 411, tuple(burns))


def logs():
    """Return the three logs to be made."""
    return (_hex_sockets(), _keyways(), _rollers())


def text_of(log):
    """Return a log as the text of its file; the first line says that it is invented.

    Parameters
    ----------
    log : Log
        What to make.
    """
    said = f"# Invented, made by a script from the kit's own model (seed {log.seed}). {log.words}"
    return f"{said}\n{csv_text(trials_of(log))}"


def main(folder="data_demo"):
    """Write the logs.

    Parameters
    ----------
    folder : str or Path
        Where to.
    """
    for log in logs():
        (Path(folder) / log.file).write_text(text_of(log), encoding="utf-8", newline="")


if __name__ == "__main__":
    main()
