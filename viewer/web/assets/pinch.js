// Two fingers on the plan: they enlarge and shift it. One finger up or down is the page's, which scrolls.

/** Let two fingers enlarge a plan; while they do, its sheets are stretched, and drawn anew when they leave. */
export function watchPinch(plan) {
  const { svg } = plan;
  const sheets = [svg, plan.under, plan.canvas];
  const fingers = new Map();
  let start = null;

  const spread = () => {
    const [a, b] = [...fingers.values()];
    return { far: Math.max(Math.hypot(a.x - b.x, a.y - b.y), 1), x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 };
  };
  const here = (event) => {
    const frame = svg.parentElement.getBoundingClientRect();
    return { x: event.clientX - frame.left, y: event.clientY - frame.top };
  };
  const stretch = ({ factor, x, y, dx, dy }) => {
    for (const sheet of sheets) {
      sheet.style.transformOrigin = `${x}px ${y}px`;
      sheet.style.transform = factor === null ? "" : `translate(${dx}px, ${dy}px) scale(${factor})`;
    }
  };
  const asked = () => {
    const now = spread();
    const most = Math.max(now.far / start.far, 1 / plan.pane.times);
    return { factor: most, x: start.x, y: start.y, dx: now.x - start.x, dy: now.y - start.y };
  };

  svg.addEventListener("pointerdown", (event) => {
    if (event.pointerType !== "touch") return;
    fingers.set(event.pointerId, here(event));
    if (fingers.size !== 2 || plan.grabbed) return;
    plan.from = null; // what the first finger had begun
    plan.pinched = true;
    start = spread();
  }, true);
  svg.addEventListener("pointermove", (event) => {
    if (!fingers.has(event.pointerId)) return;
    fingers.set(event.pointerId, here(event));
    if (start) stretch(asked());
  }, true);
  const lift = (event) => {
    if (start && fingers.has(event.pointerId)) {
      const { factor, x, y, dx, dy } = asked();
      start = null;
      stretch({ factor: null, x: 0, y: 0, dx: 0, dy: 0 });
      plan.enlarge(factor, [x, y], [dx, dy]);
    }
    fingers.delete(event.pointerId);
    if (!fingers.size) plan.pinched = false;
  };
  svg.addEventListener("pointerup", lift, true);
  svg.addEventListener("pointercancel", lift, true);
  // What is held moves with the finger, and two fingers are the plan's: then the page stays where it is.
  const hold = (event) => { if (event.cancelable && (event.touches.length > 1 || plan.grabbed)) event.preventDefault(); };
  svg.addEventListener("touchstart", hold, { passive: false });
  svg.addEventListener("touchmove", hold, { passive: false });
  svg.addEventListener("touchend", () => { plan.grabbed = false; });
  svg.addEventListener("wheel", (event) => {
    if (!event.ctrlKey) return; // the page's
    event.preventDefault();
    const { x, y } = here(event);
    plan.enlarge(Math.exp(-Math.sign(event.deltaY) * Math.min(Math.abs(event.deltaY), 60) * 0.01), [x, y]);
  }, { passive: false });
}
