"""From entries to the typed model: libraries, bases, assemblies, defaults, names.

What lives here: everything that happens between the words of single statements (bodies.py) and the model (model.py). Each step takes
values and returns values with problems; nothing here knows of circuits or rules.
"""

from ohmwright_grammar.resolve.building import Resolved, resolve
from ohmwright_grammar.resolve.loading import Loader, content_hash

__all__ = ["Loader", "Resolved", "content_hash", "resolve"]
