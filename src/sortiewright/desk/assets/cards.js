// Pages large, one at a time, and walked by the arrow keys; printing.

function pageLinks() {
  return [...document.querySelectorAll(".page-link")];
}

function show(at) {
  const links = pageLinks();
  const dialog = document.getElementById("one-page");
  if (!dialog || !links.length) return;
  const number = Math.min(Math.max(at, 0), links.length - 1);
  const small = links[number].querySelector("img");
  const large = dialog.querySelector("img");
  large.src = links[number].href;
  large.alt = small.alt;
  dialog.dataset.at = number;
  dialog.querySelector("p").textContent = `${number + 1} of ${links.length}`;
  if (!dialog.open) dialog.showModal();
}

function walk(by) {
  show(Number(document.getElementById("one-page").dataset.at) + by);
}

document.addEventListener("click", (event) => {
  const link = event.target.closest(".page-link");
  if (link && !event.ctrlKey && !event.metaKey && !event.shiftKey) {
    event.preventDefault();
    show(pageLinks().indexOf(link));
  }
  const walked = event.target.closest("[data-walk]");
  if (walked) walk(Number(walked.dataset.walk));
  if (event.target.closest("[data-close]")) document.getElementById("one-page").close();
  if (event.target.closest("[data-print]")) window.print();
});

document.addEventListener("keydown", (event) => {
  const by = { ArrowRight: 1, ArrowLeft: -1, PageDown: 1, PageUp: -1 }[event.key];
  if (!by) return;
  const dialog = document.getElementById("one-page");
  if (dialog?.open) {
    event.preventDefault();
    walk(by);
    return;
  }
  const links = pageLinks();
  const at = links.indexOf(document.activeElement);
  if (at < 0) return;
  event.preventDefault();
  links[Math.min(Math.max(at + by, 0), links.length - 1)].focus();
});

for (const button of document.querySelectorAll("[data-print]")) button.hidden = false;
