"""The circuit of a build: a graph of branches with gates, and the networks that the solver reads.

What lives here: what each kind of part puts into the circuit (parts.py: one function a kind), the graph and its walks, networks for a state. What may
not: limits, tables of ratings, findings.
"""
