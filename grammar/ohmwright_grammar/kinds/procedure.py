"""What people do with a build: the procedure, commissioning, and the history of changes."""

from __future__ import annotations

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.kinds.values import named, terms
from ohmwright_grammar.quantities import Measure
from ohmwright_grammar.records import record
from ohmwright_grammar.things import Thing

__all__ = ["Commissioning", "Expected", "History", "Points", "Procedure", "Step", "Version"]


class Procedure(Thing):
    """How the build is joined, parted, stored and handled."""

    __slots__ = ()
    KIND = "procedure"
    NAMED = False

    connect_order = say.names(
        "connect in order <names>", "join in order <names>", "switch on in order <names>", doc="order to join, the first first"
    )
    disconnect_order = say.names(
        "disconnect in order <names>",
        "part in order <names>",
        "switch off in order <names>",
        doc="order to part, the first first",
    )
    steps = say.texts("then <text>", "step <text>", "steps <text>", doc="steps in words, in order")
    order_posted = say.flag(
        "connection order posted", "order posted", "the order is posted", doc="the connection order is posted on the build"
    )
    off_before_unplugging = named(
        "switch off <names> before unplugging",
        "before unplugging switch off <names>",
        doc="what is switched off before unplugging",
    )
    joining_difference = say.voltage(
        "join packs within <voltage>", "packs differ at most <voltage>", "join within <voltage>",
        "most difference when joining <voltage>",
        doc="most difference of voltage between packs that are joined", above=0,
    )  # fmt: skip
    rest_before_joining = say.time(
        "rest <time> before joining", "rest before joining <time>", "packs rest <time>", doc="rest before packs are joined"
    )
    wait_after_switch_off = say.time(
        "wait <time> after switch-off",
        "wait <time> after switching off",
        "wait after switch-off <time>",
        doc="wait after switch-off",
    )
    storage_time = say.time(
        "store for <time>", "stored for <time>", "storage time <time>", doc="planned time in storage", above=0
    )
    storage_start_level = say.share(
        "store from <share>", "stored from <share>", "charge to <share> before storage", "storage begins at <share>",
        doc="charge level at which storage begins",
    )  # fmt: skip
    storage_least_level = say.share(
        "store down to <share>",
        "stored down to <share>",
        "down to <share>",
        "storage ends at <share>",
        doc="least charge level in storage",
    )
    storage_temperature = say.temperature(
        "store at <temperature>", "stored at <temperature>", "storage temperature <temperature>", doc="temperature in storage"
    )
    storage_action = say.text(
        "to store <text>", "storage action <text>", "store by <text>", doc="the one action that prepares it for storage"
    )
    pv_unplugged_in_storage = say.flag(
        "PV unplugged in storage", "PV unplugged for storage", "array unplugged in storage", "solar unplugged in storage",
        doc="the array is unplugged in storage",
    )  # fmt: skip
    top_up_interval = say.time(
        "top up every <time>",
        "topped up every <time>",
        "top-up interval <time>",
        doc="planned interval between top-up charges",
        above=0,
    )
    do_not = say.texts("do not <text>", "never do <text>", doc="what must not be done")
    fire = say.texts("in a fire <text>", "fire <text>", doc="what to do in a fire")
    first_aid = say.texts("first aid <text>", doc="first aid")
    transport = say.texts("transport <text>", "for transport <text>", doc="what holds for transport")


@record
class Points:
    """The two points that a meter is put on."""

    first: str
    second: str


@record
class Expected:
    """The reading that is expected: a value, mostly a range, of any dimension."""

    measure: Measure


class Step(Thing):
    """One step of commissioning."""

    __slots__ = ()
    KIND = "step"
    PLURAL = "steps"

    instruction = say.text("<text>", "do <text>", "check <text>", doc="what is done")
    state = say.word("in state <term>", "state <term>", doc="the operating state in which it is done")
    points = say.record(
        Points, "between <first:name> and <second:name>", "from <first:name> to <second:name>", doc="the points to probe"
    )
    at = say.names("at <names>", "on <names>", doc="where it is looked at, where that is not two points")
    meter = say.word("meter <word>", "meter on <word>", "meter set to <word>", doc="the meter's function")
    expected = say.record(
        Expected, "expect <measure:measure>", "reads <measure:measure>", "expected <measure:measure>", doc="expected reading"
    )
    otherwise = say.text("otherwise <text>", "if not <text>", "if it is out <text>", doc="what to do if the reading is out")


class Commissioning(Thing):
    """The steps in which a finished build is first put to work."""

    __slots__ = ()
    KIND = "commissioning"
    NAMED = False

    steps = say.blocks(lambda: Step, "step", "steps", doc="its steps, by number")


class Version(Thing):
    """One entry of the history of changes; its name is the version."""

    __slots__ = ()
    KIND = "version"
    PLURAL = "versions"

    day = say.day("<date>", "dated <date>", "of <date>", doc="its date")
    author = say.text("by <text>", "author <text>", doc="who changed it")
    what = say.texts("<text>", "what <text>", "changes <text>", doc="what was changed, in words")
    changed = terms("changed <term>", "touches <term>", "ids <term>", doc="the things that were changed")
    why = say.text("because <text>", "why <text>", doc="why")
    retest_needed = say.flag("re-test needed", "retest needed", doc="a new test is needed")
    retest_done = say.flag("re-test done", "retest done", "re-tested", "retested", doc="the new test was done")


class History(Thing):
    """The versions of a build, and what changed with each."""

    __slots__ = ()
    KIND = "history"
    NAMED = False

    versions = say.blocks(lambda: Version, "version", "versions", doc="its versions")
