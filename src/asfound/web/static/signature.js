// A place to sign in with finger, pen or mouse. Nothing drawn: the name signs alone.
const INK = "#111";
const LINE_PX = 2.6;

export function start(form) {
  const pad = form.querySelector("[data-pad]");
  const canvas = pad?.querySelector("canvas");
  if (!canvas || !canvas.getContext || pad.dataset.ready) return;
  pad.dataset.ready = "yes";
  pad.hidden = false;
  const sheet = canvas.getContext("2d");
  const strokes = [];
  let stroke = null;

  const paint = () => {
    const scale = Math.max(window.devicePixelRatio || 1, 2);
    canvas.width = canvas.clientWidth * scale;
    canvas.height = canvas.clientHeight * scale;
    sheet.scale(scale, scale);
    sheet.fillStyle = "#fff";
    sheet.fillRect(0, 0, canvas.clientWidth, canvas.clientHeight);
    strokes.forEach(line);
  };
  const line = (points) => {
    sheet.strokeStyle = INK;
    sheet.lineWidth = LINE_PX;
    sheet.lineCap = sheet.lineJoin = "round";
    sheet.beginPath();
    sheet.moveTo(...points[0]);
    // Through the middles, bent at the points: a finger's path without corners.
    for (let at = 1; at < points.length; at += 1) {
      const [x0, y0] = points[at - 1];
      const [x1, y1] = points[at];
      sheet.quadraticCurveTo(x0, y0, (x0 + x1) / 2, (y0 + y1) / 2);
    }
    sheet.lineTo(...points[points.length - 1]);
    sheet.stroke();
  };
  const at = (event) => [event.offsetX, event.offsetY];
  const keep = () => {
    form.toggleAttribute("data-drawn", strokes.length > 0);
    form.elements.picture.value = strokes.length ? canvas.toDataURL("image/png") : "";
  };

  canvas.addEventListener("pointerdown", (event) => {
    event.preventDefault();
    canvas.setPointerCapture(event.pointerId);
    stroke = [at(event)];
    strokes.push(stroke);
  });
  canvas.addEventListener("pointermove", (event) => {
    if (!stroke) return;
    stroke.push(at(event));
    paint();
  });
  for (const name of ["pointerup", "pointercancel"]) {
    canvas.addEventListener(name, () => {
      stroke = null;
      paint();
      keep();
    });
  }
  pad.querySelector("[data-clear]").addEventListener("click", () => {
    strokes.length = 0;
    paint();
    keep();
  });
  // The technician's own name stands there; whoever else signs types theirs.
  form.addEventListener("change", (event) => {
    const name = form.elements.name;
    if (event.target.name !== "role") return;
    if (event.target.value !== "technician" && name.value === name.dataset.own) name.value = "";
    if (event.target.value === "technician" && !name.value) name.value = name.dataset.own;
  });
  // A phone that is turned makes the place wider or narrower: what was drawn stays.
  new ResizeObserver(() => {
    paint();
    keep();
  }).observe(canvas);
}
