"""Every form of the notebook says that its page is this phone's own; no form of another site can."""

import re

import pytest

from pwa.build import templates
from tests.app.kinds.test_pages import KEYS, pages
from tests.helpers.notebooks import TOKEN, Desk
from tests.helpers.trade import CONTENT, accept_all

POSTS = re.compile(r'<form\b[^>]*\bmethod="?post\b[^>]*>(.*?)</form>', re.DOTALL | re.IGNORECASE)
STAMP = "{{ forms.stamp(stamp) }}"


@pytest.mark.parametrize("template", templates.names())
def test_no_form_of_a_template_stands_without_its_stamp(template):
    text = (templates.ROOT / template).read_text("utf-8")
    forms = POSTS.findall(text)
    assert len(forms) == len(re.findall(r"\bmethod=\W?post", text, re.IGNORECASE))
    assert all(inside.strip().startswith(STAMP) for inside in forms)


@pytest.mark.parametrize("host", ["phone", "desk"])
def test_the_pages_carry_the_phones_token_and_the_desks_carry_none(host):
    writer = Desk(CONTENT, host)
    job = writer.open_job().removeprefix(writer.base)
    accept_all(writer, job)
    posts = 0
    for path in pages(job):
        for form in writer.get(path).select("form[method=post]"):
            posts += 1
            tokens = [field["value"] for field in form.select("[name=layby-token]")]
            assert tokens == ([TOKEN] if host == "phone" else []), (path, form)
    assert posts > len(KEYS)
