"""The preparation: one list being worked through by people, as a stream of events folded into a state.

It knows no rule, no kit and no clock: whoever calls it works the list out and passes in the stamps of its lines.
May import: the standard library only, and of that nothing slow, because the home screen folds every preparation in
progress before anything heavy is loaded.
"""
