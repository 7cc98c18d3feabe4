"""The rooms of the hook: what each MkDocs event does, by duty, with its own small state.

MkDocs puts the folder of a hook on the path while it loads it, wherever that folder lies; the one name
that this leaves among the loaded modules is this package's.
"""
