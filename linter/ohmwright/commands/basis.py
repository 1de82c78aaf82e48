"""`ohmwright basis`: what a rule checks, why, its formula, what it rests on, a build that passes and one that fails."""

from __future__ import annotations

import argparse

from ohmwright_grammar.records import replace

from ohmwright import __version__, rules
from ohmwright.commands.common import colour_wanted, complain, no_such_rule, put
from ohmwright.pages import page_beside
from ohmwright.reports.rule_pages import Page, write_json, write_list, write_list_markdown, write_page, write_page_markdown
from ohmwright.rules import Pack, PackError, Rule
from ohmwright.text_rules import ENGINE_RULES

__all__ = ["add_options", "run"]

_OWN = "linter"  # stands in results in place of a pack for the rules about texts, waivers and adaptations


def add_options(parser: argparse.ArgumentParser) -> None:
    """Declare the options of the command."""
    parser.add_argument(
        "rule", nargs="?", metavar="RULE", default="", help="a rule, or a family of rules (default: all of them)"
    )
    parser.add_argument("--output", choices=("text", "json", "markdown"), default="text", help="format (default text)")


def run(options: argparse.Namespace) -> int:
    """Print one rule's page or the list of all rules; return 0, or 2 where there is no such rule."""
    try:
        packs = rules.installed_packs()
        pages = _pages(packs, options.rule.partition(".")[0])
    except PackError as error:
        complain(str(error))
        return 2
    not_covered = [item for pack in packs for item in pack.not_covered]
    name = options.rule.partition(".")[0]
    chosen = [page for page in pages if name in ("", page.rule.id, page.rule.family)]
    if not chosen:
        complain(no_such_rule(name, {page.rule.id for page in pages} | {page.rule.family for page in pages}))
        return 2
    one = chosen[0] if name == chosen[0].rule.id else None
    if options.output == "json":
        put(write_json(__version__, chosen, not_covered if not name else []))
    elif options.output == "markdown":
        put(write_page_markdown(one) if one is not None else write_list_markdown(chosen, not_covered if not name else []))
    else:
        colour = colour_wanted()
        put(write_page(one, colour) if one is not None else write_list(chosen, not_covered if not name else [], colour))
    return 0


def _pages(packs: tuple[Pack, ...], wanted: str) -> list[Page]:
    pages: list[Page] = []
    every = tuple(dict.fromkeys(basis for pack in packs for basis in pack.bases))

    def with_bases(rule: Rule) -> Rule:
        """A rule that names no bases applies on all of them."""
        return rule if rule.bases else replace(rule, bases=every)

    for pack in packs:
        for declared, _, module in pack.load():
            rule = with_bases(declared)
            text = page_beside(getattr(module, "__file__", None))
            pages.append(Page(rule, pack.name, pack.version, text, _side_by_side(pack, rule) if rule.id == wanted else ()))
    pages.extend(Page(with_bases(rule), _OWN, __version__, "") for rule in ENGINE_RULES)
    return sorted(pages, key=lambda page: (page.pack == _OWN, page.rule.family, page.rule.id))


def _side_by_side(pack: Pack, rule: Rule) -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
    """Return the numbers that a rule reads from its bases, where the bases disagree: each with what every basis says."""
    if pack.numbers is None:
        return ()
    rows = (
        (name, tuple((basis, said.get(basis, "-")) for basis in rule.bases)) for name, said in pack.numbers(rule.id).items()
    )
    return tuple((name, values) for name, values in rows if len({words.partition(" (")[0] for _, words in values}) > 1)
