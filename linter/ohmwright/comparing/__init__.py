"""What a change does: two readings of the same builds held against each other.

What lives here: `renames` finds parts of which only the name changed, `things` says what was changed in words of the trade, `outcomes` how findings, margins
and requirements stand before and after, `waivers`, `libraries`, `settings` and `baselines` what the change would do to the judgement itself. `model` holds
the records that reports write, `wording` their words. To tell a further kind of change of the judgement: yield a `Judgement` of a new kind, name the kind in `wording.KINDS`
and in `schemas/compare.json`, and in the table of CHANGES.md. Nothing here reads files or runs git: see `commands/trees.py`.
"""
