"""Which keys may stand at a place of a file, found from the models. May import: pydantic, `prepkit.kit.fields`."""

from types import NoneType, UnionType
from typing import Annotated, Any, Union, get_args, get_origin

from prepkit.kit.fields import Spec


def list_keys(model: type[Spec], loc: tuple[str | int, ...]) -> list[str]:
    """The keys of the table at a place as pydantic names it, kinds and tags included; empty where it is no table."""
    annotation: Any = model
    for part in loc:
        annotation = _enter(annotation, part)
    return [key for inside in _list_models(annotation) for key in inside.model_fields]


def _enter(annotation: Any, part: str | int) -> Any:  # noqa: ANN401  (any annotation)
    models = _list_models(annotation)
    kinds = [model for model in models if "kind" in model.model_fields and part in _list_words(model)]
    if len(models) > 1 and kinds:
        return kinds[0]
    plain = _strip(annotation)
    if get_origin(plain) in {tuple, dict}:
        return get_args(plain)[0 if isinstance(part, int) else 1]
    fields = [model.model_fields[part] for model in models if part in model.model_fields]
    return fields[0].rebuild_annotation() if fields else annotation


def _list_words(model: type[Spec]) -> tuple[object, ...]:
    return get_args(model.model_fields["kind"].annotation)


def _strip(annotation: Any) -> Any:  # noqa: ANN401  (as above)
    """The annotation without what is said about it, and without None."""
    if get_origin(annotation) is Annotated:
        return _strip(get_args(annotation)[0])
    if get_origin(annotation) in {Union, UnionType}:
        parts = [part for part in get_args(annotation) if part is not NoneType]
        return _strip(parts[0]) if len(parts) == 1 else annotation
    return annotation


def _list_models(annotation: Any) -> list[type[Spec]]:  # noqa: ANN401  (as above)
    plain = _strip(annotation)
    if isinstance(plain, type) and issubclass(plain, Spec):
        return [plain]
    if get_origin(plain) in {Union, UnionType}:
        return [model for part in get_args(plain) for model in _list_models(part)]
    return []
