// The search is walked with the arrow keys, and a link into a chapter opens what it leads to.

const links = () => [...document.querySelectorAll("#results a")];

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const field = document.getElementById("search");
  if (!field) return;
  const all = links();
  const at = all.indexOf(document.activeElement);
  const inSearch = document.activeElement === field;
  if (!inSearch && at < 0) return;
  if (event.key === "ArrowDown" && at < all.length - 1) {
    event.preventDefault();
    all[at + 1].focus();
  } else if (event.key === "ArrowUp" && at >= 0) {
    event.preventDefault();
    (at === 0 ? field : all[at - 1]).focus();
  } else if (event.key === "Enter" && inSearch && all.length) {
    event.preventDefault();
    all[0].click();
  } else if (event.key === "Escape") {
    event.preventDefault();
    field.focus();
    if (inSearch || at >= 0) {
      field.value = "";
      field.dispatchEvent(new Event("input", { bubbles: true }));
    }
  }
});

function openTarget() {
  const target = location.hash.length > 1 ? document.getElementById(decodeURIComponent(location.hash.slice(1))) : null;
  if (target?.localName !== "details") return;
  target.open = true;
  target.querySelector("summary").focus({ preventScroll: true });
  target.scrollIntoView({ block: "center" });
}

document.addEventListener("desk:painted", openTarget);
addEventListener("hashchange", openTarget);

// Following a link to another place of this page leaves the search behind.
document.addEventListener("click", (event) => {
  const link = event.target.closest?.("#results a");
  if (link && link.pathname === location.pathname && link.hash === location.hash) openTarget();
});
