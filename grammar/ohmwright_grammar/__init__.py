"""The build language: from the text of files to the typed model of a build, and back to text.

What lives here, in the order in which a text passes through: files (reading), parsing and mending (rig.lark to statements), slips, phrases, figures,
matching, ways and properties (statements to facts, by the phrases of kinds/), bodies, heads, changes and entries (files to things as written), resolve/ (things
placed, named and joined into model.py). Beside them lexicon, things, quantities and units (what may be said), explaining and diagnostics (what is wrong), saying
and printing (facts in words), layout and tidying (texts in order). Nothing here knows of circuits or rules, and nothing is imported from elsewhere in this project.
"""
