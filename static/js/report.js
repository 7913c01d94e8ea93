// Helps on the report of a day: ticks and photos that are sent at once, lines that are added, one
// end for everyone. Without this module the page's one button sends the same.

const form = document.querySelector("[data-report]");
const trouble = form.querySelector("[data-trouble]");

function showTrouble(isShown) {
  trouble.hidden = !isShown;
}

// Photos that nothing is wrong with stay chosen when a field beside them has to be mended.
let chosen = null;

// A refusal is shown where the answer would have been.
document.addEventListener("htmx:beforeSwap", (event) => {
  if (event.detail.xhr.status === 422) {
    event.detail.shouldSwap = true;
    event.detail.isError = false;
  }
  if (event.detail.target.id === "photos-part") {
    chosen = form.elements.namedItem("photos").files;
  }
});
document.addEventListener("htmx:sendError", () => showTrouble(true));
document.addEventListener("htmx:responseError", () => showTrouble(true));
document.addEventListener("htmx:afterRequest", (event) => {
  if (event.detail.successful) {
    showTrouble(false);
  }
});

// The last tick sets the time of the pour and finishes phases: the fields below follow, and so do
// the boxes of posts that another phone ticked meanwhile. Left as they were, saving the page would
// take those ticks away again.
function listed(name) {
  return new Set(form.elements.namedItem(name).value.split(",").filter(Boolean));
}

function shown() {
  const { poured } = form.elements.namedItem("was_finished").dataset;
  return { phases: listed("was_finished"), posts: listed("was_set"), poured };
}

function follow(name, now) {
  for (const box of form.querySelectorAll(`[name=${name}]`)) {
    if (before[name].has(box.value) !== now[name].has(box.value) && !underWay.has(box)) {
      box.checked = now[name].has(box.value);
    }
  }
}

// A box whose own tick is still to be answered stays as the thumb left it.
const underWay = new Map();
form.addEventListener("change", ({ target }) => {
  if (target.name === "posts") {
    underWay.set(target, (underWay.get(target) ?? 0) + 1);
  }
});
document.addEventListener("htmx:afterRequest", ({ detail }) => {
  const left = (underWay.get(detail.elt) ?? 0) - 1;
  if (left > 0) {
    underWay.set(detail.elt, left);
  } else {
    underWay.delete(detail.elt);
  }
});

let before = shown();
document.addEventListener("htmx:afterSettle", () => {
  if (chosen && form.querySelector("[data-keep-files]")) {
    form.elements.namedItem("photos").files = chosen;
  }
  chosen = null;
  const now = shown();
  follow("phases", now);
  follow("posts", now);
  const pour = form.elements.namedItem("pour_time");
  if (pour.value === before.poured) {
    pour.value = now.poured;
  }
  before = now;
});

function addRow(button) {
  const name = button.dataset.add;
  const total = form.elements.namedItem(`${name}-TOTAL_FORMS`);
  const number = Number(total.value);
  const holder = document.createElement("template");
  holder.innerHTML = form
    .querySelector(`template[data-template="${name}"]`)
    .innerHTML.replaceAll("__prefix__", String(number))
    .replaceAll("__count__", String(number + 1));
  const added = holder.content.firstElementChild;
  form.querySelector(`[data-rows="${name}"]`).append(added);
  total.value = String(number + 1);
  added.querySelector("select, input:not([type=hidden])").focus();
}

// The empty line below the people is there for who works without this module.
const lines = form.querySelectorAll('[data-rows="hours"] [data-row]');
const spare = lines[lines.length - 1];
if (lines.length > 1 && [...spare.querySelectorAll("input, select")].every(isEmpty)) {
  spare.remove();
  form.elements.namedItem("hours-TOTAL_FORMS").value = String(lines.length - 1);
}

function isEmpty(field) {
  return field.type === "checkbox" ? !field.checked : field.value === "";
}

// Without a connection the browser would leave the page for one of its own, and what was typed
// with it.
form.addEventListener("submit", (event) => {
  if (!navigator.onLine) {
    event.preventDefault();
    showTrouble(true);
  }
});

// Half a time of day is sent as none at all: it would be lost without a word.
form.addEventListener("submit", (event) => {
  const half = [...form.elements].find((field) => field.validity?.badInput);
  if (half) {
    event.preventDefault();
    half.reportValidity();
  }
});

for (const button of form.querySelectorAll("[data-add]")) {
  button.hidden = false;
  button.addEventListener("click", () => addRow(button));
}

// What is typed for everyone goes into each line that has a person and nothing else yet.
function fill(kind, from) {
  for (const row of form.querySelectorAll('[data-rows="hours"] [data-row]')) {
    const person = row.querySelector('[name$="-member"]').value;
    const field = row.querySelector(`[name$="-${kind}"]`);
    if (person && (field.value === "" || field.value === field.dataset.filled)) {
      field.value = from.value;
      field.dataset.filled = from.value;
    }
  }
}

for (const [name, kind] of [["everyone_ended", "ended"], ["everyone_break", "break_min"]]) {
  const from = form.elements.namedItem(name);
  from?.addEventListener("change", () => fill(kind, from));
}
