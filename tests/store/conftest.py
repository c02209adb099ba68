from pathlib import Path

import pytest

pytest.register_assert_rewrite("contract", "kills", "scenes")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "ward" / "store.db"
