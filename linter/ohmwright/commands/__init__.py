"""The commands, one file each: they convert and call, and decide nothing.

What lives here: options, paths, exit codes. To add a command: write a file with `add_options(parser)` and `run(options) -> int`, and name it in cli.py.
"""
