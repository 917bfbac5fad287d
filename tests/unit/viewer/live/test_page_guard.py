"""Whom the page's server answers, and with which headers."""

import socket
import urllib.error
import urllib.request

import pytest
from websockets.exceptions import InvalidStatus
from websockets.sync.client import connect
from websockets.typing import Origin


def status_of(port, path="/", **headers):
    asked = urllib.request.Request(f"http://127.0.0.1:{port}{path}", headers=headers)
    try:
        with urllib.request.urlopen(asked, timeout=10) as answer:
            return answer.status
    except urllib.error.HTTPError as error:
        error.close()
        return error.code


@pytest.mark.parametrize(
    "path", ["/", "/base.css", "/page.css", "/page.js", "/page_parts.js", "/page_values.js"]
)
def test_the_page_and_its_files_come_with_a_policy_that_keeps_everything_here(served, path):
    with urllib.request.urlopen(f"http://127.0.0.1:{served[0]}{path}", timeout=10) as answer:
        policy = answer.headers["content-security-policy"]
        assert answer.status == 200 and answer.read()
    assert policy.startswith("default-src 'none';") and "unsafe" not in policy and "*" not in policy
    assert "http" not in policy and f"ws://127.0.0.1:{served[0]}" in policy


def test_a_sheet_has_a_policy_under_which_no_script_runs(served):
    with urllib.request.urlopen(f"http://127.0.0.1:{served[0]}/sheet.html", timeout=10) as answer:
        policy = answer.headers["content-security-policy"]
        assert b"sheet of little, design" in answer.read()
    assert policy.startswith("default-src 'none';") and "script-src" not in policy
    assert "frame-ancestors 'none'" in policy
    assert status_of(served[0], "/sheet.html", Origin="http://elsewhere.example") == 403


@pytest.mark.parametrize(
    "host", ["elsewhere.example", "127.0.0.1", "127.0.0.1:1", "127.0.0.1.elsewhere.example:{port}"]
)
def test_another_host_is_refused(served, host):
    assert status_of(served[0], Host=host.format(port=served[0])) == 403


def test_the_page_answers_to_both_names_of_this_machine_only(served):
    assert status_of(served[0], Host=f"localhost:{served[0]}") == 200
    assert status_of(served[0], Origin="http://elsewhere.example") == 403
    assert status_of(served[0], "/../page.py") == 404


@pytest.mark.parametrize("origin", ["http://elsewhere.example", "null", "http://127.0.0.1:1", None])
def test_another_origin_cannot_open_the_live_line(talking, origin):
    with pytest.raises(InvalidStatus) as refused, talking(origin=origin):
        pass
    assert refused.value.response.status_code == 403


def test_a_rebound_name_cannot_open_the_live_line(served):
    name = f"elsewhere.example:{served[0]}"
    line = socket.create_connection(("127.0.0.1", served[0]))
    with (
        pytest.raises(InvalidStatus) as refused,
        connect(f"ws://{name}/live", sock=line, origin=Origin(f"http://{name}")),
    ):
        pass
    assert refused.value.response.status_code == 403
