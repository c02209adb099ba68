"""Values with a secret in them, which nothing that shows a value shows. May import: msgspec."""

from typing import Any, ClassVar

from msgspec import Struct


class Secret(Struct, frozen=True):
    """A value of which one field is in no `repr`: not Python's own, nor rich's, with which a crash report is drawn."""

    HIDDEN: ClassVar[str]
    """The field that holds the secret."""

    def __repr__(self) -> str:
        return f"{type(self).__name__}({', '.join(f'{name}={value!r}' for name, value in self.__rich_repr__())})"

    def __rich_repr__(self) -> list[tuple[str, Any]]:
        return [(name, getattr(self, name)) for name in self.__struct_fields__ if name != self.HIDDEN]
