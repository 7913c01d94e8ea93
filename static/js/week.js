// Moves a block of the week without leaving the page, by its buttons or by dragging it onto a day,
// and says why when it is refused. Without this module the buttons send the page.

const week = document.querySelector("[data-week]");
const answer = document.getElementById("week-answer");
const MOVED = "week-moved-block";

function say(words) {
  answer.hidden = words === "";
  answer.textContent = words;
}

async function move(block, values) {
  const body = new FormData(block.querySelector("[data-move]"));
  for (const [name, value] of Object.entries(values)) {
    body.set(name, value);
  }
  say("");
  let reply;
  try {
    reply = await fetch(block.dataset.moveTo, {
      method: "POST",
      headers: { "X-Requested-With": "fetch" },
      body,
    });
  } catch {
    say("The server did not answer: nothing has been moved.");
    return;
  }
  if (reply.status === 204) {
    sessionStorage.setItem(MOVED, block.dataset.block);
    window.location.reload();
  } else if (reply.status === 422) {
    say(await reply.text());
    answer.scrollIntoView({ block: "nearest" });
  } else {
    say("This did not work: nothing has been moved. Load the page again.");
  }
}

// After a move the focus goes on where it was, on the day the block stands on now.
const moved = sessionStorage.getItem(MOVED);
if (moved) {
  sessionStorage.removeItem(MOVED);
  const links = week?.querySelectorAll(`[data-block="${moved}"] a`) ?? [];
  [...links].find((link) => link.offsetParent !== null)?.focus();
}

week?.addEventListener("submit", (event) => {
  if (!event.target.matches("[data-move]")) {
    return;
  }
  event.preventDefault();
  move(event.target.closest("[data-block]"), { date: event.submitter.value });
});

let dragged = null;

function dayUnder(event) {
  return dragged && event.target.closest?.("td[data-date]");
}

function mark(day) {
  for (const other of week.querySelectorAll(".drop-here")) {
    other.classList.toggle("drop-here", other === day);
  }
  day?.classList.add("drop-here");
}

for (const block of week?.querySelectorAll("td [data-block]:has([data-move])") ?? []) {
  block.draggable = true;
  block.querySelector("a").draggable = false;
}

week?.addEventListener("dragstart", (event) => {
  dragged = event.target.closest?.("[data-block]");
  event.dataTransfer.effectAllowed = "move";
  event.dataTransfer.setData("text/plain", dragged?.dataset.block ?? "");
});
week?.addEventListener("dragend", () => {
  dragged = null;
  mark(null);
});
week?.addEventListener("dragover", (event) => {
  const day = dayUnder(event);
  if (day) {
    event.preventDefault();
    mark(day);
  }
});
week?.addEventListener("drop", (event) => {
  const day = dayUnder(event);
  if (!day) {
    return;
  }
  event.preventDefault();
  mark(null);
  if (day !== dragged.closest("td[data-date]")) {
    move(dragged, { date: day.dataset.date, crew: day.dataset.crew });
  }
});
