"""The real image with our firmware, instruction by instruction: UNVERIFIED, see conftest."""

import asyncio

from fw_fakes import seeded_dark
from rigwire.schedule import Schedule, Step, digest, to_body
from rigwire.states import STATES


def run(board, scenario):
    """A scenario on a board that gets power now."""

    async def whole():
        async with board.device:
            await scenario()

    asyncio.run(whole())


async def started(board, schedule):
    """Upload, ask, press for 1.5 s; returns when it is in its first step."""
    body = to_body(schedule)
    await board.ask("load_open", len(body), digest(body))
    for offset in range(0, len(body), 80):
        await board.ask("load_part", offset, body[offset : offset + 80].decode())
    assert (await board.ask("load_done", digest(body))).name == "held"
    assert (await board.ask("ask_start", digest(body))).name == "ok"
    board.set_contact("START", False)
    pressed_s = board.now_s()
    await board.until(lambda: board.now_s() > pressed_s + 1.5, 5)
    board.set_contact("START", True)

    def in_step():
        return any(
            one.name == "status" and STATES[one.values[0]] == schedule.steps[0].kind + "ing"
            for one in board.heard[-20:]
        )

    await board.until(in_step, 20)


def test_it_boots_and_answers_hello_with_every_output_low(board):
    """Within 20 s of its own: our version, off, not simulated; no pin of an output is high."""

    async def scenario():
        answer = await board.ask("hello", 1, 2, "emulator")
        assert STATES[answer.get("state_no")] == "off"
        assert answer.get("simulated") == 0
        for name in ("HEATER", "ENABLE", "BUZZER", "LAMP"):
            assert not board.level(name)

    run(board, scenario)


def test_it_runs_a_short_schedule_with_its_emulated_probe(board):
    """27 degC chocolate, a melt to 40: the heater goes on; at 40 the step's clock runs."""

    async def scenario():
        await board.ask("hello", 1, 2, "emulator")
        await started(board, seeded_dark())
        await board.until(lambda: board.level("HEATER"), 20)
        board.chips["product"].raw = board.chips["plate"].raw = 40 * 16
        assert any(one.name == "reading" for one in board.heard)

    run(board, scenario)


def test_an_unplugged_probe_stops_it(board):
    """No presence: heat off within 2 s of the last reading and a conversion, stopped within 6."""

    async def scenario():
        await board.ask("hello", 1, 2, "emulator")
        await started(board, seeded_dark())
        await board.until(lambda: board.level("HEATER"), 20)
        board.chips["product"].is_there = False
        stops = [one for one in board.heard if one.name == "event" and one.get("kind") == "stop"]
        assert stops == []
        await board.until(
            lambda: any(
                one.name == "event" and one.get("kind") == "stop" and one.get("a") == 1
                for one in board.heard
            ),
            6,
        )
        assert not board.level("HEATER")

    run(board, scenario)


def test_the_watchdog_bites_on_a_hang(board):
    """The one-wire bus hangs for ever inside a pass: a restart within 2.5 s, outputs low."""

    async def scenario():
        await board.ask("hello", 1, 2, "emulator")
        work = Step("work", 31_500, 600, 3000, 60_000)
        await started(board, Schedule("Hang", "kept", "in_temper", 1000, 50_000, [work]))
        resets = []
        watchdog = board.device.mcu.watchdog
        bite = watchdog.on_watchdog_trigger
        watchdog.on_watchdog_trigger = lambda: (resets.append(board.now_s()), bite())
        board.device.mcu.core.pc = _endless(board)  # the core spins in two bytes of RAM
        began_s = board.now_s()
        await board.until(lambda: bool(resets), 5)
        assert resets[0] - began_s <= 2.5
        await board.until(lambda: not board.level("HEATER"), 1)

    run(board, scenario)


def _endless(board) -> int:
    """An address in RAM that holds `b .`, the shortest endless loop of the core."""
    address = 0x2004_1F00  # the top of the second core's stack, which MicroPython leaves alone
    board.device.mcu.write_uint16(address, 0xE7FE)
    return address
