"""`prepkit serve`: the screens in a browser, for the ward's phones.

Needs aiohttp and textual-serve, which come with the extra "serve". Nobody gets a session, a program or a byte of a
preparation before signing in (`guard.py`, `sign_in.py`). Each session then has one program (`screens.py`), which is
told who signed in (`session_state.py`) and whose screen goes over one socket (`terminal_socket.py`).
"""
