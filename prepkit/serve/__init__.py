"""`prepkit serve`: the screens in a browser, for the ward's phones.

May import: everything but the command line; aiohttp and textual-serve, which come with the extra "serve". Nobody gets
a session, a program or a byte of a preparation before the sign-in (`guard.py`, `sign_in.py`); PINs are tried at a desk of
its own (`door.py`). After it each session has one program (`screens.py`), which is told who signed in (`standing.py`) and
whose screen goes over one socket (`shown.py`).
"""
