"""Failures inside shared helpers show the values compared, as those inside tests do."""

import pytest

pytest.register_assert_rewrite("tests.builders", "tests.rules.helpers")
