"""One module a kind of route; each route calls one operation and turns its result into the wire form."""
