"""Operating states: what is declared, what is implied beside it, and what a box can get into.

What lives here: setups, which say everything that the solver needs of a state. What may not: networks, solutions, limits.
"""
