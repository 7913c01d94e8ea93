// Small helps that pages share. Every page works without them.

const menuButton = document.querySelector("[data-menu-button]");
const menu = document.getElementById("main-nav");

function showMenu(isOpen) {
  menuButton.setAttribute("aria-expanded", String(isOpen));
  menu.toggleAttribute("data-closed", !isOpen);
}

if (menuButton && menu) {
  document.documentElement.classList.add("has-script");
  showMenu(false);
  menuButton.addEventListener("click", () => {
    showMenu(menuButton.getAttribute("aria-expanded") !== "true");
  });
  menu.addEventListener("keydown", (event) => {
    if (event.key === "Escape") {
      showMenu(false);
      menuButton.focus();
    }
  });
}

// After a refusal the summary is where reading goes on.
document.querySelector("[data-focus]")?.focus();

// A form sent twice by a second click is sent once.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (event.defaultPrevented || form.hasAttribute("hx-post") || form.hasAttribute("hx-get")) {
    return;
  }
  if (form.dataset.sent) {
    event.preventDefault();
    return;
  }
  form.dataset.sent = "yes";
  // Back in the browser, or a download that leaves the page standing, must not lock the form.
  window.setTimeout(() => delete form.dataset.sent, 3000);
});
window.addEventListener("pageshow", () => {
  for (const form of document.forms) {
    delete form.dataset.sent;
  }
});

document.addEventListener("click", (event) => {
  const target = event.target.closest("[data-confirm]");
  if (target && !window.confirm(target.dataset.confirm)) {
    event.preventDefault();
  }
  if (event.target.closest("[data-print]")) {
    window.print();
  }
});

// How a length that was typed is read: 55 may be meant as feet where it is read as inches.
async function sayReading(field) {
  const reading = readingOf(field);
  const text = field.value.trim();
  field.dataset.asked = text;
  const read = text ? await askReading(field, text) : { words: "", problem: "" };
  await released();
  if (!read || field.dataset.asked !== text) {
    return;
  }
  reading.textContent = read.words ? `Read as ${read.words}` : read.problem;
  reading.toggleAttribute("data-problem", Boolean(read.problem));
}

async function askReading(field, text) {
  const query = new URLSearchParams({ text, bare: field.dataset.length });
  const answer = await fetch(`/length/?${query}`, { headers: { Accept: "application/json" } });
  return answer.ok ? answer.json() : null;
}

// What moves the page waits while a button of the mouse is down or a finger lies on it: the press
// that left a field would otherwise end beside what it began on, and be lost.
let isPressed = false;
for (const [kind, pressed] of [["pointerdown", true], ["pointerup", false], ["pointercancel", false]]) {
  document.addEventListener(kind, () => (isPressed = pressed), true);
}

async function released() {
  while (isPressed) {
    await new Promise((done) => window.setTimeout(done, 30));
  }
}

function readingOf(field) {
  const next = field.nextElementSibling;
  if (next?.matches("output.reading")) {
    return next;
  }
  const reading = document.createElement("output");
  reading.className = "reading";
  reading.htmlFor = field.id;
  field.after(reading);
  return reading;
}

document.addEventListener("change", (event) => {
  if (event.target.matches("input[data-length]")) {
    sayReading(event.target).catch(() => {});
  }
});

// Parts of a long page stay open or folded as they were left, and open for a link into them.
function keptFolds() {
  try {
    return JSON.parse(window.localStorage.getItem("folds")) ?? {};
  } catch {
    return {};
  }
}

function keepFold(part) {
  try {
    const kept = { ...keptFolds(), [part.dataset.keep]: part.open };
    window.localStorage.setItem("folds", JSON.stringify(kept));
  } catch {
    // A browser that keeps nothing folds as the page was sent.
  }
}

function openToLink() {
  let place = document.getElementById(window.location.hash.slice(1))?.closest("details");
  for (; place; place = place.parentElement.closest("details")) {
    place.open = true;
  }
}

const folds = document.querySelectorAll("details[data-keep]");
for (const part of folds) {
  part.open = keptFolds()[part.dataset.keep] ?? part.open;
  // Only what a person folds is kept: paper and links open parts for the moment.
  part.querySelector("summary").addEventListener("click", () => {
    window.setTimeout(() => keepFold(part));
  });
}
openToLink();
window.addEventListener("hashchange", openToLink);

const openFolds = document.querySelector("[data-open-folds]");
if (openFolds) {
  openFolds.hidden = false;
  openFolds.addEventListener("click", () => {
    for (const part of document.querySelectorAll("details.fold")) {
      part.open = true;
    }
  });
}

// What is folded away on the screen is on paper too.
window.addEventListener("beforeprint", () => {
  for (const folded of document.querySelectorAll("details.fold:not([open])")) {
    folded.open = true;
    folded.dataset.forPrint = "";
  }
});
window.addEventListener("afterprint", () => {
  for (const opened of document.querySelectorAll("details[data-for-print]")) {
    opened.open = false;
    delete opened.dataset.forPrint;
  }
});
