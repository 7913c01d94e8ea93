// Adds and removes lines and rows of the measure page without a reload. Without this module the
// same buttons send the page, and the server does it.

const form = document.querySelector("[data-measure]");

function template(name) {
  return document.querySelector(`template[data-template="${name}"]`).innerHTML;
}

function append(container, html) {
  const holder = document.createElement("template");
  holder.innerHTML = html;
  const added = holder.content.firstElementChild;
  container.append(added);
  added.querySelector("input:not([type=hidden]), select")?.focus();
  return added;
}

function nextNumber(names, pattern) {
  const numbers = names.map((name) => name.match(pattern)).filter(Boolean).map((m) => Number(m[1]));
  return Math.max(-1, ...numbers) + 1;
}

function namesIn(root) {
  return [...root.querySelectorAll("[name]")].map((control) => control.name);
}

function letter(index) {
  let name = "";
  for (let left = index + 1; left > 0; left = Math.floor((left - 1) / 26)) {
    name = String.fromCharCode(65 + ((left - 1) % 26)) + name;
  }
  return name;
}

function freeLetter() {
  const taken = new Set([...form.querySelectorAll('[name$="-id"]')].map((input) => input.value));
  let index = 0;
  while (taken.has(letter(index))) {
    index += 1;
  }
  return letter(index);
}

function addRow(button) {
  const target = button.dataset.target;
  const kind = button.dataset.add;
  const container = form.querySelector(`[data-rows="${target}"]`);
  const number = nextNumber(namesIn(container), new RegExp(`^${target}-(\\d+)-`));
  const html = template(kind)
    .replaceAll(`__parent__-${kind}`, target)
    .replaceAll("__row__", String(number));
  append(container, html);
}

function addLine() {
  const container = form.querySelector("[data-lines]");
  const number = nextNumber(namesIn(container), /^lines-(\d+)-/);
  const before = container.querySelector("[data-line]:last-child select[name$='-system']");
  const html = template("line")
    .replaceAll("__line__", String(number))
    .replaceAll("__mark__", freeLetter());
  const added = append(container, html);
  if (before) {
    added.querySelector("select[name$='-system']").value = before.value;
  }
}

function remove(button) {
  const selector = `[data-row="${button.dataset.remove}"], [data-line="${button.dataset.remove}"]`;
  const gone = button.closest(selector);
  const near = gone.nextElementSibling ?? gone.parentElement.parentElement;
  gone.remove();
  near.querySelector("input:not([type=hidden]), select, button")?.focus();
  form.dispatchEvent(new CustomEvent("measured", { bubbles: true }));
}

form?.addEventListener("click", (event) => {
  const button = event.target.closest("[data-add], [data-add-line], [data-remove]");
  if (!button) {
    return;
  }
  event.preventDefault();
  if (button.dataset.remove) {
    remove(button);
  } else if (button.dataset.add) {
    addRow(button);
  } else {
    addLine();
  }
});
