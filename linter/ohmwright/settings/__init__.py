"""The settings of a repository of builds: found, read, checked, told.

What lives here: `finding` looks for the file, `locating` says where in its text a value stands, `checking` holds it against the known keys, `names` against
the installed rules, `patterns` decides which files a path means, `site` puts the site of a repository below that of a build, `showing` says where each value
came from. Settings are data: nothing here imports, runs or writes anything that they name. To add a key: a row in `checking`, a field of `Settings`, a row in
`schemas/settings.json`, in `showing`, and in SETTINGS.md; tests hold them together.
"""
