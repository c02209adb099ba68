"""One list being worked through by people, kept as a stream of events and folded into a state.

Each subject has a room with its events, its reducers (`apply`) and its commands (`decide`): baby, lines, batches,
check, bedside, handover. The preparation as a whole (start, texts, ready, end) is at the top, where `events`, `state`
and `evolve` join the subjects. Nothing here reads a clock. What the home screen folds loads no kit, rule or unit; what
needs the list (`listing` and those that use it) loads later.
"""
