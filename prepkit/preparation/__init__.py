"""One list being worked through by people, kept as a stream of events and folded into a state.

Each subject has a room with its events, its reducers (`apply`) and its decisions (`decide`): lines, check, bedside,
batches. The preparation itself (start, list, ready, handover, end) is at the top; `codec` and `state` join them.
Nothing here reads a clock. What the home screen folds (`codec`, `evolve`, `decide`, `readiness`) loads no kit, rule or
unit; what needs the list (`listing` and those that use it) loads later.
"""
