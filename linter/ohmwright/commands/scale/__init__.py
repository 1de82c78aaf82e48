"""Many builds: processes beside each other, a cache between runs, shares of a run and their joining, results that are kept packed.

Nothing here is imported by a run over a handful of builds, and the engine knows of none of it.

- `coding`: results as plain values of JSON and back, of named records only;
- `pieces`: what one file brings to a run, and the result that pieces make together;
- `keeping`: pieces packed, in memory and beyond that in a file, and read when they are asked for;
- `workers`, `worker`: the processes; `running`: who inspects what; `progress`: how far it is, on a terminal;
- `cache`, `cache_places`: what earlier runs found;
- `sharing`, `parts`: a part of a run, written to a file, and files joined.
"""
