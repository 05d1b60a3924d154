"""The bench itself: the same rigs under every controller, in a few processes."""

from __future__ import annotations

import os
from concurrent.futures import ProcessPoolExecutor
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

import numpy as np

from travels import population
from travels.baselines import Pi, Thermostat
from travels.bound import first_arrival_s
from travels.figures import TRAVELS, Figures, Lane, figures_of
from travels.firm import Firmware
from travels.hostside import refined
from travels.label import Label
from travels.plant import Plant
from travels.population import Population, Rigs
from travels.refusal import refused
from travels.ripple import ideal_rms_c
from travels.scenarios import SCENARIOS, Scenario
from travels.world import Group, Trace, World

CONTROLLERS = ("ours", "ours_first", "thermostat", "pid")
CHUNK_RIGS = 25
WORK_C = 31.5


class Job(NamedTuple):
    """Rigs `first` to `first + count - 1`. `keep` keeps the traces, for plots; with `has_host` the
    host refines what the first run taught."""

    scenario: str
    actuator: str
    seed: int
    first: int
    count: int
    file: Path
    keep: bool = False
    has_host: bool = True


class Rig(NamedTuple):
    """One rig that was not refused: figures (and trace, where kept) by controller.

    `ideal_ripple_c` is the rms of a relay's even pulses on it, `offset_c` what its probe reads
    too much.
    """

    number: int
    offset_c: float
    ideal_ripple_c: float
    figures: dict[str, Figures]
    traces: dict[str, dict[str, np.ndarray]]


class Outcome(NamedTuple):
    """All rigs of a run."""

    refused: int
    rigs: list[Rig]


def bench(job: Job, processes: int = 2) -> Outcome:
    """Return what came of the job's rigs, done in parts side by side."""
    parts = _parts(job, processes)
    if len(parts) == 1:
        done = [_run(parts[0])]
    else:
        with ProcessPoolExecutor(min(processes, os.cpu_count() or 1)) as pool:
            done = list(pool.map(_run, parts))
    return Outcome(sum(one.refused for one in done), [rig for one in done for rig in one.rigs])


def _parts(job: Job, processes: int) -> list[Job]:
    count = max(1, min(job.count, processes), -(-job.count // CHUNK_RIGS))
    bounds = np.linspace(0, job.count, count + 1).astype(int)
    return [
        job._replace(first=job.first + int(begin), count=int(end - begin))
        for begin, end in pairwise(bounds)
    ]


def _run(job: Job) -> Outcome:
    file = population.read(job.file)
    scenario = SCENARIOS[job.scenario]
    rigs = scenario.rigs(file.draw(job.count, job.seed, job.first))
    bad = refused(rigs, scenario)
    rigs = rigs.take(~bad)
    return Outcome(int(bad.sum()), _runs(job, file, scenario, rigs) if len(rigs) else [])


def _runs(job: Job, file: Population, scenario: Scenario, rigs: Rigs) -> list[Rig]:
    plant, labels = Plant(rigs), labels_of(rigs, job.actuator, file)
    first = Firmware(labels)
    groups = [
        Group("ours_first", first, 1),
        Group("thermostat", Thermostat(plant, job.actuator), 2),
        Group("pid", Pi(plant, job.actuator), 2),
    ]
    lanes = _lanes(World(plant, scenario, groups, file.common, job.seed), file)
    learned = first.learned()
    if job.has_host:
        logged = [lanes["ours_first", at][1] for at in range(len(labels))]
        learned = [refined(*one) for one in zip(logged, labels, learned, strict=True)]
    again = [Group("ours", Firmware(labels, learned), 2)]
    lanes |= _lanes(World(plant, scenario, again, file.common, job.seed), file)
    return [
        Rig(
            int(number),
            float(rigs.offset_c[at]),
            ideal_rms_c(rigs, at, float(plant.specific_j_per_kg_k[at]), WORK_C),
            {name: figures_of(lanes[name, at][0]) for name in CONTROLLERS},
            {name: lanes[name, at][1] for name in CONTROLLERS} if job.keep else {},
        )
        for at, number in enumerate(rigs.number)
    ]


def labels_of(rigs: Rigs, actuator: str, file: Population) -> list[Label]:
    """Return what the makers of these rigs know of them."""
    has = (file.common.has_plate_probe, file.common.has_room_probe)
    pairs = zip(rigs.mass_kg, rigs.heater_w, strict=True)
    return [Label(round(1000 * kg), round(watts), actuator, *has) for kg, watts in pairs]


def _lanes(world: World, file: Population) -> dict:
    """Run a world; return lane and trace by controller and place."""
    trace = world.run()
    bounds = {
        step.kind: first_arrival_s(trace.begun[no], step, file.common)
        for no, step in enumerate(world.scenario.steps)
        if step.kind in TRAVELS
    }
    count = world.rigs_per_group
    return {
        (group.name, at): _lane(world, trace, bounds, which * count + at)
        for which, group in enumerate(world.groups)
        for at in range(count)
    }


def _lane(world: World, trace: Trace, bounds: dict, column: int):
    no = trace.no[:, column].astype(int)
    rows = slice(0, int((no < len(world.scenario.steps)).sum()))
    cut = {name: value[rows, column] for name, value in vars(trace).items() if name != "begun"}
    lane = Lane(
        world.scenario.steps, no[rows], cut["product_c"].astype(float),
        cut["plate_c"].astype(float), cut["starts"], cut["seed"],
        cut["mass_kg"] > 1.001 * cut["mass_kg"][0], cut["risen_c"].astype(float),
        float(world.plant.rigs.offset_c[column]),
        {kind: float(those[column]) for kind, those in bounds.items()},
    )  # fmt: skip
    return lane, cut
