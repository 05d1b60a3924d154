"""What each command does: a use case, over the desk. In a thread, for the rig may be slow."""

import time
from collections.abc import Callable
from typing import Any

from snapgloss.base.errors import InputError
from snapgloss.runs.live.staged import staged_of
from snapgloss.web.api import schema
from snapgloss.web.desk import Who
from snapgloss.web.site import Site

Action = Callable[[Site, Who, Any], str]


def off(site: Site, who: Who, _body: schema.Nothing) -> str:
    """Turn all off; from anybody."""
    return site.desk.do(who, "off", site.session.off, needs_lead=False)


def lead(site: Site, who: Who, _body: schema.Nothing) -> str:
    """Take the lead."""
    return site.desk.take_lead(who)


def note(site: Site, who: Who, body: schema.NoteBody) -> str:
    """Write a note; from anybody."""
    return site.desk.do(who, "note", lambda: site.session.note(body.words), needs_lead=False)


def moment(site: Site, who: Who, body: schema.MomentBody) -> str:
    """Note a moment; from anybody."""
    call = lambda: site.session.moment(body.key)  # noqa: E731
    return site.desk.do(who, f"moment {body.key}", call, needs_lead=False)


def answer(site: Site, who: Who, body: schema.AnswerBody) -> str:
    """Answer what the rig asks."""
    return site.desk.do(who, f"answer {body.prompt}", lambda: site.session.answer(body.prompt))


def moulds(site: Site, who: Who, body: schema.MouldsBody) -> str:
    """Count moulds, or say how many there are."""
    session, by, planned = site.session, body.by, body.moulds
    if by is not None:
        return site.desk.do(who, f"moulds {by:+d}", lambda: session.count(by))
    if planned is not None:
        return site.desk.do(who, f"moulds {planned}", lambda: session.plan_moulds(planned))
    raise InputError("Say `by` or `moulds`.", "")


def stage(site: Site, who: Who, body: schema.StageBody) -> str:
    """Send a batch to the rig, and ask for its start."""
    return site.desk.do(who, "stage", lambda: _stage(site, body))


def _stage(site: Site, body: schema.StageBody) -> str:
    from snapgloss.schedules import files

    if body.sample:
        if site.sample is None:
            raise InputError("There is no sample batch on this rig.", "Send a schedule.")
        return site.session.stage(site.sample())
    schedule = files.from_text(body.schedule)
    rig = site.session.rig
    staged = staged_of(schedule, rig, body.room_c, body.workshop, moulds=body.moulds)
    return site.session.stage(staged)


def report(site: Site, who: Who, body: schema.ReportBody) -> str:
    """Make a batch's report anew; from anybody."""
    from snapgloss.web.heavy import write_report_of

    def make() -> str:
        site.heavily(write_report_of, site.folder, body.run, body.fahrenheit)
        return f"/api/batches/{body.run}/report.html"

    return site.desk.do(who, f"report {body.run}", make, needs_lead=False)


def learn(site: Site, who: Who, _body: schema.Nothing) -> str:
    """Begin to learn the rig from batches that were not learned from; from anybody."""
    from snapgloss.web.heavy import learn_of

    def begin() -> str:
        if not site.is_learning:
            link = site.session.link
            simulated = bool(link and link.identity and link.identity.simulated)
            given = (site.store.address, site.folder, site.session.rig, simulated)
            site.learning = site.begin_heavily(learn_of, *given)
        return ""

    return site.desk.do(who, "learn the rig", begin, needs_lead=False)


def prove(site: Site, who: Who, body: schema.ProveBody) -> str:
    """Begin steps of commissioning. What they drive, a press at the rig starts."""
    return site.desk.do(who, "commissioning", lambda: _prove(site, body))


def _prove(site: Site, body: schema.ProveBody) -> str:
    from snapgloss.runs.commissioning import Sheet, described_as

    session = site.session
    rig = described_as(session.rig, session.feed.moment.simulated)
    sheet = Sheet(site.folder, rig, lambda: time.time_ns() // 1_000_000)
    return session.prove(sheet, body.name, tuple(body.only), lambda: session.is_ending)


def prove_answer(site: Site, who: Who, body: schema.ProveAnswerBody) -> str:
    """Answer what a step asks."""
    given = body.answer if body.figure is None else body.figure
    if given is None or (body.answer is not None and body.figure is not None):
        raise InputError("Say `answer` or `figure`.", "")
    call = lambda: site.session.answer_step(body.number, given)  # noqa: E731
    return site.desk.do(who, f"step answered {given}", call)


def prove_end(site: Site, who: Who, _body: schema.Nothing) -> str:
    """End commissioning, and turn all off."""
    return site.desk.do(who, "commissioning ended", site.session.leave_steps)


ACTIONS: dict[str, Action] = {
    "off": off, "lead": lead, "note": note, "moment": moment, "answer": answer,
    "moulds": moulds, "stage": stage, "report": report,
    "learn": learn, "prove": prove, "prove_answer": prove_answer, "prove_end": prove_end,
}  # fmt: skip
