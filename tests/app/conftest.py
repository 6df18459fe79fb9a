"""A phone with the real content, and a job on it with all its cautions accepted."""

import pytest

from tests.helpers.notebooks import Desk
from tests.helpers.trade import CONTENT, accept_all


@pytest.fixture
def phone():
    return Desk(CONTENT)


@pytest.fixture
def job(phone):
    path = phone.open_job()
    accept_all(phone, path)
    return path
