"""The local page: server-rendered, no script needed, this machine only unless told otherwise."""
