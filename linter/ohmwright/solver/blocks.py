"""Blocks of a graph: two branches lie in one block when a loop goes through both. No current crosses from one block to another."""

from __future__ import annotations

__all__ = ["blocks"]


def blocks(nodes: int, edges: list[tuple[int, int]]) -> list[int]:
    """The number of the block of every edge; an edge from a node to itself is a block of its own.

    Depth-first search with low points, without recursion.
    """
    near: list[list[tuple[int, int]]] = [[] for _ in range(nodes)]
    block = [-1] * len(edges)
    count = 0
    for k, (a, b) in enumerate(edges):
        if a == b:
            block[k] = count
            count += 1
        else:
            near[a].append((b, k))
            near[b].append((a, k))
    depth = [-1] * nodes
    low = [0] * nodes
    at = [0] * nodes
    for root in range(nodes):
        if depth[root] >= 0 or not near[root]:
            continue
        depth[root] = low[root] = 0
        path: list[tuple[int, int]] = [(root, -1)]  # node, edge by which it was reached
        open_edges: list[int] = []
        while True:
            v, came = path[-1]
            if at[v] < len(near[v]):
                w, k = near[v][at[v]]
                at[v] += 1
                if k == came or block[k] >= 0:
                    continue
                if depth[w] < 0:
                    depth[w] = low[w] = depth[v] + 1
                    open_edges.append(k)
                    path.append((w, k))
                elif depth[w] < depth[v]:
                    open_edges.append(k)
                    low[v] = min(low[v], depth[w])
                continue
            path.pop()
            if not path:
                break
            parent = path[-1][0]
            low[parent] = min(low[parent], low[v])
            if low[v] >= depth[parent]:
                while True:
                    k = open_edges.pop()
                    block[k] = count
                    if k == came:
                        break
                count += 1
    return block
