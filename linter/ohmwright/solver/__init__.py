"""The circuit solver: numbers only, no model, no rules, no text.

What lives here: elements of a network between numbered nodes, the sparse elimination, Newton's steps, the modes of
controllers and chargers, the search for the fold, photovoltaic curves. What may not: anything that knows of parts, wires,
states, tables of ratings or units other than SI.
"""
