"""The settings of a repository of builds: found, read, checked, told.

What lives here: `finding` looks for the file, `reading` makes a checked record of it, `locating` says where in its text a value stands, `checking` holds it
against the known keys, `names` against the installed rules, `shared` tells whether a pyproject.toml has settings of ours, `patterns` decides which files a path
means, `site` puts the site of a repository below that of a build. Settings are data: nothing here imports, runs or writes anything that they name.
`commands/show_settings.py` says where each value came from. To add a key: a row in `checking`, a field of `Settings` and a line in `reading`, a row in
`schemas/settings.json`, in `show_settings`, and in SETTINGS.md; tests hold them together.
"""
