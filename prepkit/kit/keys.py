"""Which keys may stand at a place of a file, found from the forms. May import: pydantic, `prepkit.kit.forms`."""

from types import NoneType, UnionType
from typing import Annotated, Any, Union, get_args, get_origin

from prepkit.kit.forms import Form


def list_keys(form: type[Form], loc: tuple[str | int, ...]) -> list[str]:
    """The keys of the table at a place as pydantic names it, kinds and tags included; empty where it is no table."""
    annotation: Any = form
    for part in loc:
        annotation = _enter(annotation, part)
    return [key for inside in _list_forms(annotation) for key in inside.model_fields]


def _enter(annotation: Any, part: str | int) -> Any:  # noqa: ANN401  (any annotation)
    forms = _list_forms(annotation)
    kinds = [form for form in forms if "kind" in form.model_fields and part in _list_words(form)]
    if len(forms) > 1 and kinds:
        return kinds[0]
    plain = _strip(annotation)
    if get_origin(plain) in {tuple, dict}:
        return get_args(plain)[0 if isinstance(part, int) else 1]
    fields = [form.model_fields[part] for form in forms if part in form.model_fields]
    return fields[0].rebuild_annotation() if fields else annotation


def _list_words(form: type[Form]) -> tuple[object, ...]:
    return get_args(form.model_fields["kind"].annotation)


def _strip(annotation: Any) -> Any:  # noqa: ANN401  (as above)
    """The annotation without what is said about it, and without None."""
    if get_origin(annotation) is Annotated:
        return _strip(get_args(annotation)[0])
    if get_origin(annotation) in {Union, UnionType}:
        parts = [part for part in get_args(annotation) if part is not NoneType]
        return _strip(parts[0]) if len(parts) == 1 else annotation
    return annotation


def _list_forms(annotation: Any) -> list[type[Form]]:  # noqa: ANN401  (as above)
    plain = _strip(annotation)
    if isinstance(plain, type) and issubclass(plain, Form):
        return [plain]
    if get_origin(plain) in {Union, UnionType}:
        return [form for part in get_args(plain) for form in _list_forms(part)]
    return []
