"""Words last: outside `view`, `documents` and `wording` nothing is decided by reading a sentence; a kind is asked.

The syntax trees are walked. What holds words is known by its name: the fields below, whatever a function says, shows or
explains, an error's message, and each name bound to one of these in the same function. Whether there are words at all
may be asked anywhere.
"""

import ast
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "prepkit"
WORDING = frozenset({"view", "documents", "wording"})
"""The rooms that put findings into words, and lay the words out."""
FINDING = frozenset({"rules", "list", "proof"})
"""The rooms whose fields of the same names hold findings, which may be asked."""

SENTENCES = frozenset(
    {
        *("ask", "blocked", "elapsed", "ended", "excerpt", "hint", "kits_own", "label", "make", "msg"),
        *("new_show", "news", "note", "old_show", "progress", "reason", "recomputed", "refusal", "show"),
        *("source", "strerror", "title", "unverified", "withheld", "word", "words"),
    }
)
"""Fields that hold a phrase or a sentence."""
LISTS = frozenset(
    {
        *("addenda", "cautions", "details", "doubts", "handling", "how", "left_out", "missing", "notices"),
        *("not_offered", "our_working", "overdue", "results", "standing", "summary", "their_working", "unreadable"),
        *("working", "wrong"),
    }
)
"""Fields that hold several, or do so in one class: one may be taken out by its place, never by what it says."""
NAMES = frozenset({"words", "sentence", "sentences", "caution", "cautions", "notice", "reason", "refusal"})
"""Names that hold words wherever they are bound."""
ONE = frozenset({"words", "sentence", "reason", "refusal"})
"""Of these, what is bound to one sentence."""
SAYING = ("say", "explain", "show", "words")
"""How the name begins of what gives words."""

TAKES_APART = frozenset(
    {
        *("count", "endswith", "find", "index", "partition", "removeprefix", "removesuffix", "replace", "rfind"),
        *("rindex", "rpartition", "rsplit", "split", "splitlines", "startswith", "translate"),
    }
)
MATCHES = frozenset({"findall", "finditer", "fullmatch", "get", "match", "search", "split", "sub", "subn"})
"""Methods of a pattern, a module of patterns or a table, which take the words they look at."""

FILES_OWN = "a caution or instruction is the datum of the kit or ward file that states it; what both state stands once"
STORED = "a stored list keeps what it showed as words: they are told side by side only where they differ"
LIBRARY = "the library gives its reason in words alone; here they become ours"
SAME = "asked is whether the same was told or stands there already"
KIND = "of a syringe that misses it is a kind"
EXCEPTIONS = {
    ("kit/layer.py", "words not in kept.cautions"): FILES_OWN,
    ("kit/layer.py", "words not in own.handling"): FILES_OWN,
    ("list/layered.py", "words not in line.how"): FILES_OWN,
    ("preparation/lines/decide.py", "was == line.show"): STORED,
    ("preparation/baby/decide.py", "(last.senior, last.note, last.fingerprint) == (initials, text, fingerprint)"): (
        "a note is what somebody typed: the same one is not recorded twice"
    ),
    ("preparation/readiness.py", "change.old_show != line.show"): STORED,
    ("kit/toml_text.py", "word in error.msg"): LIBRARY,
    ("kit/toml_text.py", "_NAMES.sub(…, error.msg)"): LIBRARY,
    ("store/postgres/driver.py", "str(error).strip().splitlines()"): LIBRARY,
    ("store/copies.py", "str(error).replace(…, str(backup))"): "the copy is named as a person knows it",
    ("tui/widgets/row.py", "self._text.show.splitlines()"): "several values stand on lines of their own",
    ("list/agreement.py", "counts.get(…, '')"): "a form's boxes are named by the sizes they show",
    ("rules/dose/syringe.py", "match self.wrong"): KIND,
    ("serve/sign_in.py", "str(error) != self._told"): SAME,
    ("tui/screens/base.py", "str(error) != self._told"): SAME,
    ("tui/widgets/text.py", "sentences != self._sentences"): SAME,
    ("tui/widgets/button.py", "words.lower().find(self._letter)"): "a key's letter is underlined where it stands",
}
"""By file and code, each with its reason."""


IsWords = Callable[[str, ast.expr | None], bool]
"""Whether a field of this name, of this expression, holds words; a name alone where there is none."""


def find_readings(source: str, is_words: IsWords) -> Iterator[str]:
    """The code that reads a sentence to decide something."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef | ast.Module):
            yield from _Scope(node, is_words).find_readings()


class _Scope:
    """One function, or the body of a class or module, without what is defined in it."""

    def __init__(self, top: ast.AST, is_words: IsWords) -> None:
        self._is_words = is_words
        self._nodes = [node for child in ast.iter_child_nodes(top) for node in _walk_own(child)]
        self._bound = {name for name in NAMES if is_words(name, None)}
        before = -1
        while before != len(self._bound):
            before = len(self._bound)
            for node in self._nodes:
                self._bind(node)

    def find_readings(self) -> Iterator[str]:
        """Each reading, once."""
        yield from dict.fromkeys(_show(node) for node in self._nodes if self._reads(node))

    def _bind(self, node: ast.AST) -> None:
        match node:
            case ast.Assign(targets=targets, value=value) if self._holds(value):
                self._bound |= {target.id for target in targets if isinstance(target, ast.Name)}
            case (
                ast.NamedExpr(target=ast.Name(id=name), value=value)
                | ast.AnnAssign(target=ast.Name(id=name), value=ast.expr() as value)
            ) if self._holds(value):
                self._bound.add(name)
            case (
                ast.For(target=ast.Name(id=name), iter=value) | ast.comprehension(target=ast.Name(id=name), iter=value)
            ) if self._holds(value):
                self._bound.add(name)

    def _holds(self, node: ast.expr | None) -> bool:
        """Whether an expression gives words, or several."""
        match node:
            case ast.Attribute(attr=name, value=value):
                held = self._is_words(name, value)
            case ast.Name(id=name):
                held = name in self._bound
            case ast.Call(func=ast.Name(id="str"), args=[ast.Name(id=name)]):
                held = name == "error"
            case ast.Call(func=ast.Attribute(attr="strip" | "lower" | "upper", value=value)):
                held = self._holds(value)
            case ast.Call(func=ast.Attribute(attr=name) | ast.Name(id=name)):
                held = name.lstrip("_").startswith(SAYING)
            case ast.IfExp(body=one, orelse=other):
                held = self._holds(one) or self._holds(other)
            case ast.Lambda() | ast.Compare() | ast.JoinedStr() | ast.Dict() | ast.DictComp():
                held = False
            case ast.Subscript(value=value) | ast.GeneratorExp(elt=value) | ast.ListComp(elt=value):
                held = self._holds(value)
            case ast.expr():
                held = any(self._holds(each) for each in ast.iter_child_nodes(node) if isinstance(each, ast.expr))
            case _:
                held = False
        return held

    def _reads(self, node: ast.AST) -> bool:
        match node:
            case ast.Compare(left=left, ops=ops, comparators=others):
                sides = (left, *others)
                asks = any(isinstance(each, ast.Eq | ast.NotEq | ast.In | ast.NotIn) for each in ops)
                read = asks and any(map(self._holds, sides)) and not any(map(_is_empty, sides))
            case ast.Call(func=ast.Attribute(attr=name, value=value), args=arguments):
                taken = name in TAKES_APART and self._holds(value)
                read = taken or (name in MATCHES and any(map(self._holds, arguments)))
            case ast.Subscript(value=ast.Attribute(attr=name) | ast.Name(id=name) as value, slice=at):
                read = self._holds(at) or (name in SENTENCES | ONE and self._holds(value))
            case ast.Match(subject=subject):
                read = self._holds(subject)
            case _:
                read = False
        return read


def _walk_own(node: ast.AST) -> Iterator[ast.AST]:
    if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
        yield node
        for child in ast.iter_child_nodes(node):
            yield from _walk_own(child)


def _is_empty(node: ast.expr) -> bool:
    """Whether a side of a comparison asks for emptiness alone."""
    return (isinstance(node, ast.Constant) and not node.value) or (isinstance(node, ast.Tuple) and not node.elts)


def _show(node: ast.AST) -> str:
    """The code in short: of a match its subject, of a call its last argument."""
    match node:
        case ast.Match(subject=subject):
            return f"match {ast.unparse(subject)}"
        case ast.Call(func=called, args=[_, last]):
            return f"{ast.unparse(called)}(…, {ast.unparse(last)})"
    return ast.unparse(node)


def is_words(name: str, of: ast.expr | None) -> bool:
    """Whether words are held; where a list's outcome is at hand, its fields of these names hold findings."""
    is_finding = of is not None and ast.unparse(of).endswith("outcome")
    return name in SENTENCES | LISTS | NAMES and not is_finding


def list_finding_fields() -> frozenset[str]:
    """The fields that hold findings, by their annotations."""
    trees = [ast.parse(path.read_text("utf-8")) for room in FINDING for path in (PACKAGE / room).rglob("*.py")]
    fields = [node for tree in trees for node in ast.walk(tree) if isinstance(node, ast.AnnAssign)]
    held = (node.target for node in fields if "Finding" in ast.unparse(node.annotation))
    return frozenset(target.id for target in held if isinstance(target, ast.Name))


def list_readings() -> list[tuple[str, str]]:
    """Each reading in the package, with its file."""
    findings = list_finding_fields()

    def is_words_there(name: str, of: ast.expr | None) -> bool:
        return is_words(name, of) and name not in findings

    readings = []
    for path in sorted(PACKAGE.rglob("*.py")):
        name = path.relative_to(PACKAGE).as_posix()
        room = name.partition("/")[0]
        if room not in WORDING:
            holds = is_words_there if room in FINDING else is_words
            readings += [(name, code) for code in find_readings(path.read_text("utf-8"), holds)]
    return readings


READ = (
    "line.blocked == 'no size'",
    "line.show != other",
    "'differ' in view.refusal",
    "any('differ' in each for each in line.cautions)",
    "words in line.cautions",
    "record.results[0].split('; ')",
    "problem.words().partition(':')",
    "refusal.startswith('Perhaps')",
    "line.words.endswith('approval')",
    "stale.words.removeprefix('It: ')",
    "stale.words.removesuffix('.')",
    "line.withheld.find('weight')",
    "line.working.index('Dose')",
    "reason.replace(baby.words(), '')",
    "re.search('[0-9]', line.hint)",
    "_CITED.sub('', line.working[0])",
    "problem.hint[0]",
    "words[:5]",
    "_KINDS[line.blocked]",
    "_KINDS.get(line.blocked)",
    "match line.blocked:\n    case 'no size':\n        pass",
    "say_amount(amount) == '1 mL'",
    "'lost' in str(error)",
    "(one.id, one.show) == (two.id, two.show)",
    "sorted(lines, key=lambda line: line.blocked == 'x')",
    "found = line.refusal\nfound == 'no'",
    "found: str = line.refusal\nfound == 'no'",
    "found = line.refusal if line else other\nfound == 'no'",
    "(found := line.refusal) and found == 'no'",
    "for each in line.cautions:\n    each.startswith('By')",
    "def find(line):\n    return line.blocked == 'no size'",
    "class Line:\n    def find(self):\n        return self.blocked == 'no size'",
)
LET_PASS = (
    "bool(line.blocked) and not line.cautions and line.refusal == ''",
    "view.missing == ()",
    "line.show is None",
    "finding.kind is Kind.BLOCKED and finding.kind in KINDS",
    "line.id == 'it' and line.amount == other.amount",
    "line.outcome.show != other.outcome.show",
    "f'{line.name}: {line.blocked}' + ' · '.join(line.details)",
    "line.working[0]",
    "len(view.missing) == 1",
    "found = line.id\nfound.partition(' ')",
    "primary = 'sign' if view.refusal else 'home'\nprimary == 'sign'",
)


@pytest.mark.parametrize("code", READ)
def test_a_sentence_that_is_read_is_seen(code: str) -> None:
    assert list(find_readings(code, is_words)) != []


@pytest.mark.parametrize("code", LET_PASS)
def test_what_reads_no_sentence_passes(code: str) -> None:
    assert list(find_readings(code, is_words)) == []


def test_nothing_is_decided_by_reading_a_sentence() -> None:
    found = list_readings()
    unnamed = [each for each in found if each not in EXCEPTIONS]
    assert unnamed == [], "ask a kind or a value, or name the reason above"
    assert set(EXCEPTIONS) <= set(found), "an exception that nothing needs any more"


def test_every_field_of_the_table_is_there_still() -> None:
    trees = [ast.parse(path.read_text("utf-8")) for path in PACKAGE.rglob("*.py")]
    nodes = [node for tree in trees for node in ast.walk(tree)]
    fields = {node.target.id for node in nodes if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name)}
    methods = {node.name for node in nodes if isinstance(node, ast.FunctionDef)}
    assert (SENTENCES | LISTS) - fields - methods == {"msg", "strerror"}, "an error of Python's or tomli's has these"
