// Lets a customer sign with a finger, a pen or the mouse. The lines go into the hidden input as
// JSON: a list of strokes, each a list of [x, y] in thousandths of the field's width and height.
// Without this module the field stays hidden and the typed name alone is the signature.

const STEPS = 1000;
const MOST_STROKES = 200;
const MOST_POINTS = 5000;
// Nearer than this to the point before, a point adds nothing to be seen.
const NEAREST = 3;
const INK = "#1b1a16";

function readStrokes(text) {
  try {
    const strokes = JSON.parse(text || "[]");
    const isDrawn = (stroke) => Array.isArray(stroke) && stroke.every(Array.isArray);
    return Array.isArray(strokes) && strokes.every(isDrawn) ? strokes : [];
  } catch {
    return [];
  }
}

function inSteps(part, whole) {
  return Math.min(STEPS, Math.max(0, Math.round((part / whole) * STEPS)));
}

class SignatureField {
  constructor(root) {
    this.canvas = root.querySelector("canvas");
    this.input = root.querySelector('input[type="hidden"]');
    this.state = root.querySelector("[data-signature-state]");
    this.words = root.dataset;
    this.strokes = readStrokes(this.input.value);
    this.pointer = null;
    root.hidden = false;
    root.querySelector("[data-signature-clear]").addEventListener("click", () => this.clear());
    this.canvas.addEventListener("pointerdown", (event) => this.begin(event));
    this.canvas.addEventListener("pointermove", (event) => this.go(event));
    for (const name of ["pointerup", "pointercancel"]) {
      this.canvas.addEventListener(name, (event) => this.end(event));
    }
    new ResizeObserver(() => this.redraw()).observe(this.canvas);
    this.say();
  }

  get pointCount() {
    return this.strokes.reduce((sum, stroke) => sum + stroke.length, 0);
  }

  pointOf(event) {
    const box = this.canvas.getBoundingClientRect();
    return [
      inSteps(event.clientX - box.left, box.width),
      inSteps(event.clientY - box.top, box.height),
    ];
  }

  begin(event) {
    const isFirst = event.isPrimary && event.button === 0 && this.pointer === null;
    if (!isFirst || this.strokes.length >= MOST_STROKES || this.pointCount >= MOST_POINTS) {
      return;
    }
    event.preventDefault();
    this.pointer = event.pointerId;
    this.canvas.setPointerCapture(event.pointerId);
    this.strokes.push([this.pointOf(event)]);
    this.redraw();
  }

  go(event) {
    if (event.pointerId !== this.pointer || this.pointCount >= MOST_POINTS) {
      return;
    }
    const stroke = this.strokes.at(-1);
    const [x, y] = this.pointOf(event);
    const [beforeX, beforeY] = stroke.at(-1);
    if (Math.abs(x - beforeX) + Math.abs(y - beforeY) < NEAREST) {
      return;
    }
    stroke.push([x, y]);
    this.redraw();
  }

  end(event) {
    if (event.pointerId !== this.pointer) {
      return;
    }
    this.pointer = null;
    this.keep();
  }

  clear() {
    this.strokes = [];
    this.pointer = null;
    this.redraw();
    this.keep();
  }

  keep() {
    this.input.value = this.strokes.length ? JSON.stringify(this.strokes) : "";
    this.say();
  }

  say() {
    this.state.textContent = this.strokes.length ? this.words.signed : this.words.empty;
  }

  redraw() {
    const box = this.canvas.getBoundingClientRect();
    const scale = window.devicePixelRatio || 1;
    this.canvas.width = Math.round(box.width * scale);
    this.canvas.height = Math.round(box.height * scale);
    const pen = this.canvas.getContext("2d");
    pen.lineWidth = 2.4 * scale;
    pen.lineCap = "round";
    pen.lineJoin = "round";
    pen.strokeStyle = INK;
    const at = ([x, y]) => [(x / STEPS) * this.canvas.width, (y / STEPS) * this.canvas.height];
    for (const stroke of this.strokes) {
      pen.beginPath();
      pen.moveTo(...at(stroke[0]));
      // A dot is a line of no length: its round ends are what is seen.
      stroke.forEach((point) => pen.lineTo(...at(point)));
      pen.stroke();
    }
  }
}

for (const root of document.querySelectorAll("[data-signature]")) {
  new SignatureField(root);
}
