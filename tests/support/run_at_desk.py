"""A crew at the desk's run without a browser: presses what each seat's page offers."""

import re

MAIN = re.compile(r'<div class="hand-main".*?</div>', re.DOTALL)
DEED = re.compile(r'name="deed" value="([^"]+)"')
AS_DATA = {"accept": "application/json"}


def offered(client):
    """Return the deeds that the foot of a device's page offers, the first one first."""
    hand = MAIN.search(client.get("/run").text)
    return DEED.findall(hand[0]) if hand else []


def press(client, deed, words="", id=""):
    """Press once, as the script does; return what is answered."""
    body = {"deed": deed, "words": words, "id": id}
    return client.post("/run/deeds", data=body, headers=AS_DATA)


def press_all(clients, until=lambda deed: False, most=400):
    """Have each device press what it is offered until ``until`` a deed; return it and who is offered it."""
    for _ in range(most):
        found = [(client, deeds[0]) for client in clients if (deeds := offered(client))]
        if not found:
            return None
        client, deed = found[0]
        if until(deed):
            return client, deed
        answer = press(client, deed)
        assert answer.status_code == 200, (deed, answer.text)
    raise AssertionError("the run does not end")
