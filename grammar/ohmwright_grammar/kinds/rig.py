"""The rig itself: what a file says outside of every thing's own statement."""

from __future__ import annotations

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.kinds.part import Joint
from ohmwright_grammar.records import record
from ohmwright_grammar.things import Thing

__all__ = ["Adapts", "Port", "Rig"]


@record
class Adapts:
    """The published build that a file changes: its path, revision and content hash."""

    path: str
    revision: str = ""
    hash: str = ""


@record
class Port:
    """A name under which an assembly shows one of its connectors or terminals to the outside."""

    name: str
    at: str


class Rig(Thing):
    """A build, a library, or the inside of an assembly."""

    __slots__ = ()

    KIND = "rig"
    NAMED = False

    title = say.text("rig <text>", doc="title; a file with one is a build, one without is a library")
    revision = say.word("revision <word>", doc="revision, kept as written")
    written = say.day("date <date>", "dated <date>", doc="date of the revision")
    author = say.text("by <text>", "author <text>", doc="who designed it")
    basis = say.word("basis <word>", doc="the family of published tables that it is held against")
    system_voltage = say.voltage("system <voltage>", "nominal <voltage>", doc="nominal system voltage", above=0)
    parts_from = say.texts("parts from <text>", doc="libraries that it reads")
    adapts = say.record(
        Adapts,
        "adapts <path:text> revision <revision:word> hash <hash:text>",
        "adapts <path:text> revision <revision:word>",
        "adapts <path:text> hash <hash:text>",
        "adapts <path:text>",
        doc="the published build that this file changes",
    )
    joints = say.records(
        Joint, "<terminal:name> on <at:name>", "<terminal:name> sits on <at:name>", doc="a joint without a wire"
    )
    never_together = say.records(
        lambda names: names, "never together <names:names>", "never <names:names> together", doc="loads that never run together"
    )
    barred_together = say.records(
        lambda names: names,
        "barred together <names:names>",
        doc="switches that a mechanical interlock keeps from being closed at the same time",
    )
    ports = say.records(
        Port, "port <name:name> at <at:name>", "port <name:name> is <at:name>", doc="what an assembly shows outside"
    )
    floats = say.flag("floats", "floating", doc="no pole is joined to a case or to earth")
