"""The stream of events: order, limits, replay, and the format of the HTML standard."""

import asyncio
import re

import pytest

from sortiewright.desk.event_stream import MOST_REMEMBERED, MOST_WAITING, Hub, Viewer

REAR = Viewer("rear", "trade")


def parsed(text):
    """Return the events in a stream's text, by the rules of the HTML standard, section 9.2.6."""
    events, data, name, last = [], [], "", ""
    for line in re.split(r"\r\n|\r|\n", text):
        field, _, value = line.partition(":")
        value = value.removeprefix(" ")
        if line == "":
            if data:
                events.append((name or "message", "\n".join(data), last))
            data, name = [], ""
        elif field == "data":
            data.append(value)
        elif field == "event":
            name = value
        elif field == "id":
            last = value
    return events


async def heard(hub, count, *, last_id="", topics=("plan",), act=None, viewer=REAR):
    """Return the next messages of a page's stream, beats left out; ``act`` is done once it listens."""
    found = []
    stream = hub.stream(topics, viewer, "me", last_id)
    async with asyncio.timeout(5):
        found += parsed(await anext(stream))
        if act:
            act()
        while sum(one[0] != "beat" for one in found) < count:
            found += parsed(await anext(stream))
    await stream.aclose()
    return [one for one in found if one[0] != "beat"]


def test_a_page_hears_its_topics_in_order_and_no_others():
    hub = Hub()

    def act():
        for n in range(3):
            hub.publish("other", "no")
            hub.publish("plan", str(n), event="plan-changed")

    assert [one[:2] for one in asyncio.run(heard(hub, 3, act=act))] == [
        ("plan-changed", "0"),
        ("plan-changed", "1"),
        ("plan-changed", "2"),
    ]


def test_markup_of_many_lines_arrives_as_it_was_sent():
    hub = Hub()
    text = "<p>one</p>\n\n<p>id: two\nevent: three</p>"

    assert asyncio.run(heard(hub, 1, act=lambda: hub.publish("plan", text)))[0][:2] == ("message", text)


@pytest.mark.parametrize("breaking", ["a\r\nevent: evil", "a\rid: 7", "a\x0bdata: b", "a\u2028data: b"])
def test_no_text_can_forge_another_field(breaking):
    hub = Hub()
    events = asyncio.run(heard(hub, 1, act=lambda: hub.publish("plan", breaking)))

    assert [one[0] for one in events] == ["message"]
    assert events[0][2] == hub.position


def test_each_reader_gets_its_own_text_made_once():
    hub, made = Hub(), []

    def body(viewer):
        made.append(viewer)
        return f"{viewer.seat} {viewer.units}"

    async def both():
        front = heard(hub, 1, viewer=Viewer("front", "si"))
        rear, again = heard(hub, 1), heard(hub, 1)
        waiting = asyncio.gather(front, rear, again)
        await asyncio.sleep(0.05)
        hub.publish("plan", body)
        return await waiting

    assert [one[0][1] for one in asyncio.run(both())] == ["front si", "rear trade", "rear trade"]
    assert len(made) == 2


def test_a_page_that_was_away_gets_exactly_what_it_missed():
    hub = Hub()
    for n in range(10):
        hub.publish("plan" if n % 2 else "other", str(n))
    seen = f"{hub.epoch}-4"

    assert [one[1] for one in asyncio.run(heard(hub, 3, last_id=seen))] == ["5", "7", "9"]


@pytest.mark.parametrize(
    "last_id", ["00000000-0", "00000000-1", "nonsense", "{epoch}-x", "{epoch}-99", "{epoch}-" + "9" * 30, "-"]
)
def test_a_page_from_another_server_or_time_is_told_to_paint_itself_anew(last_id):
    hub = Hub()
    hub.publish("plan", "1")

    assert asyncio.run(heard(hub, 1, last_id=last_id.replace("{epoch}", hub.epoch)))[0][0] == "repaint"


def test_a_page_away_for_longer_than_is_remembered_is_told_to_paint_itself_anew():
    hub = Hub()
    hub.publish("plan", "first")
    seen = hub.position
    for n in range(MOST_REMEMBERED + 5):
        hub.publish("plan", str(n))

    assert [one[0] for one in asyncio.run(heard(hub, 1, last_id=seen))] == ["repaint"]


def test_a_slow_page_costs_bounded_memory_and_gets_one_repaint():
    async def slow():
        hub = Hub()
        stream = hub.stream(["plan"], REAR, "me")
        await anext(stream)
        for n in range(10_000):
            hub.publish("plan", str(n))
        waiting = max(len(one.waiting) for one in hub._subscribers)
        text = ""
        async with asyncio.timeout(5):
            while "event: repaint" not in text:
                text += await anext(stream)
        await stream.aclose()
        return waiting, [one[0] for one in parsed(text)]

    waiting, heard_of = asyncio.run(slow())

    assert waiting <= MOST_WAITING
    assert heard_of.count("repaint") == 1
    assert heard_of.count("message") <= MOST_WAITING


def test_of_a_live_value_a_slow_page_gets_only_the_newest():
    hub = Hub()

    def act():
        for n in range(1000):
            hub.publish("plan", str(n), event="speed", latest="speed")
        hub.publish("plan", "end", event="end")

    assert [one[:2] for one in asyncio.run(heard(hub, 2, act=act))] == [("speed", "999"), ("end", "end")]


def test_a_beat_comes_every_second():
    async def beats():
        hub = Hub()
        stream = hub.stream(["plan"], REAR, "me")
        started = asyncio.get_running_loop().time()
        texts = [await anext(stream), await anext(stream)]
        took = asyncio.get_running_loop().time() - started
        await stream.aclose()
        return texts, took

    texts, took = asyncio.run(beats())

    assert all("event: beat" in text for text in texts)
    assert texts[0].startswith("retry: 1000\n")
    assert 0.9 < took < 1.9


def test_closing_the_hub_ends_every_stream_and_forgets_its_page():
    async def closed():
        hub = Hub()
        waiting = asyncio.create_task(heard(hub, 1))
        await asyncio.sleep(0.05)
        assert list(hub.present()) == ["me"]
        hub.close()
        with pytest.raises(StopAsyncIteration):
            await waiting
        return hub

    assert not asyncio.run(closed()).present()


def test_a_message_from_another_thread_is_heard():
    async def threaded():
        hub = Hub()
        hub.start()
        waiting = asyncio.create_task(heard(hub, 1))
        await asyncio.sleep(0.05)
        await asyncio.to_thread(hub.publish_from_thread, "plan", "from a thread")
        return await waiting

    assert asyncio.run(threaded())[0][1] == "from a thread"
