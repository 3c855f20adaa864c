// Single keys: whatever carries aria-keyshortcuts is pressed by its key and listed in the panel of keys.

// Scripts of pages set themselves up on "desk:painted": now, and whenever the whole page was painted anew.
function painted() {
  document.dispatchEvent(new CustomEvent("desk:painted"));
}

addEventListener("load", painted);
document.addEventListener("htmx:after:swap", (event) => {
  if (event.detail?.ctx?.target?.id === "page") painted();
});

const OFF = "single-keys-off";
const panel = document.getElementById("keys");
const list = document.getElementById("key-list");
const listening = document.getElementById("keys-on");

function isTyping(element) {
  return element instanceof HTMLElement && (element.isContentEditable || element.matches("input:not([type=checkbox], [type=radio], [type=range]), select, textarea"));
}

function withKey() {
  return [...document.querySelectorAll("[aria-keyshortcuts]")].filter((element) => element.checkVisibility() && !element.disabled);
}

function nameOf(element) {
  return element.dataset.keySays ?? element.getAttribute("aria-label") ?? element.querySelector(".stop-title")?.textContent ?? element.textContent.trim();
}

function listKeys() {
  list.replaceChildren();
  for (const element of withKey()) {
    const key = document.createElement("dt");
    const name = document.createElement("dd");
    key.textContent = element.getAttribute("aria-keyshortcuts");
    name.textContent = nameOf(element);
    list.append(key, name);
  }
}

panel.addEventListener("beforetoggle", (event) => {
  if (event.newState === "open") listKeys();
});

listening.checked = localStorage.getItem(OFF) === null;
listening.addEventListener("change", () => {
  if (listening.checked) localStorage.removeItem(OFF);
  else localStorage.setItem(OFF, "1");
});

document.addEventListener("keydown", (event) => {
  if (!listening.checked || event.defaultPrevented || event.repeat || event.ctrlKey || event.metaKey || event.altKey || isTyping(event.target)) return;
  if (event.key === "?") {
    event.preventDefault();
    panel.togglePopover();
    return;
  }
  const pressed = withKey().find((element) => element.getAttribute("aria-keyshortcuts").split(" ").includes(event.key));
  if (!pressed) return;
  event.preventDefault();
  pressed.click();
});
