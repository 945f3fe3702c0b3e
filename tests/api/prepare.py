"""Makes a manager with a token and publishes a plan; prints the token. Standard library alone."""

import json
import sys
import time
import urllib.error
import urllib.request

address = sys.argv[1]
token = None


def ask(method, path, body=None, **headers):
    """Status, headers and body of an answer."""
    request = urllib.request.Request(address + path, method=method)
    data = None
    if body is not None:
        data = json.dumps(body).encode()
        request.add_header("Content-Type", "application/json")
    if token:
        request.add_header("Authorization", f"Bearer {token}")
    for name, value in headers.items():
        request.add_header(name.replace("_", "-"), value)
    try:
        with urllib.request.urlopen(request, data) as answer:
            return answer.status, answer.headers, json.loads(answer.read() or b"null")
    except urllib.error.HTTPError as error:
        return error.code, error.headers, json.loads(error.read() or b"null")


def must(wanted, answer):
    status, headers, body = answer
    if status != wanted:
        sys.exit(f"prepare: status {status}, expected {wanted}: {body}")
    return headers, body


def until(path, ready):
    for _ in range(600):
        status, headers, body = ask("GET", path)
        if ready(status, body):
            return headers, body
        time.sleep(0.1)
    sys.exit(f"prepare: {path} stays {status}: {body}")


until("/api/v1/shop-data", lambda status, body: status == 200 and body["revision"] > 0)
headers, policy = must(200, ask("GET", "/api/v1/policy"))
policy = {"publish_automatically": False, "steps": 30, "quiet_seconds": 1, "drift_seconds": 900}
must(200, ask("PUT", "/api/v1/policy", policy, If_Match=headers["ETag"]))
account = {"role": "manager", "password": "nine cold chisels"}
until("/api/v1/plans/proposal", lambda status, body: status == 200)
number = must(200, ask("GET", "/api/v1/plans"))[1]["plans"][0]["plan"]
must(200, ask("PUT", "/api/v1/plans/published", {"plan": number}, If_None_Match="*"))
must(200, ask("PUT", "/api/v1/accounts/api-client", account))
session = {"account": "api-client", "password": "nine cold chisels"}
headers, me = must(200, ask("POST", "/api/v1/session", session))
cookie = headers["Set-Cookie"].split(";")[0]
made = ask(
    "POST",
    "/api/v1/accounts/api-client/tokens",
    {"label": "api client"},
    Cookie=cookie,
    X_CSRF_Token=me["csrf"],
)
print(must(201, made)[1]["secret"])
