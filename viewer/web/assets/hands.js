// Fingers, mouse and keys on the 3D picture.

/** Call `on.turn, slide, zoom, point, leave, home` as the reader's hands ask for it. */
export function watchHands(canvas, on) {
  const fingers = new Map();
  let moved = 0;
  let tilting = 1;

  const spread = () => {
    const [a, b] = [...fingers.values()];
    return { far: Math.hypot(a.x - b.x, a.y - b.y), x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 };
  };
  const inside = (event) => {
    const frame = canvas.getBoundingClientRect();
    return [event.clientX - frame.left, event.clientY - frame.top];
  };

  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    tilting = event.pointerType === "touch" ? 0 : 1;
    moved = fingers.size > 1 ? 99 : 0;
  });
  canvas.addEventListener("pointermove", (event) => {
    const finger = fingers.get(event.pointerId);
    if (!finger) {
      if (event.pointerType === "mouse") on.point(...inside(event));
      return;
    }
    const [dx, dy] = [event.clientX - finger.x, event.clientY - finger.y];
    const before = fingers.size === 2 ? spread() : null;
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    moved += Math.abs(dx) + Math.abs(dy);
    if (before) {
      const now = spread();
      if (now.far > 10 && before.far > 10) on.zoom(before.far / now.far);
      on.slide(now.x - before.x, now.y - before.y);
    } else if (moved > 4) {
      if (event.shiftKey || event.buttons === 2) on.slide(dx, dy); else on.turn(dx, tilting * dy);
    }
  });
  const lift = (event) => {
    if (fingers.delete(event.pointerId) && moved <= 4 && event.type === "pointerup") on.point(...inside(event));
  };
  canvas.addEventListener("pointerup", lift);
  canvas.addEventListener("pointercancel", lift);
  canvas.addEventListener("pointerleave", (event) => { if (event.pointerType === "mouse") on.leave(); });
  // Two fingers are the picture's; one that goes up or down scrolls the page.
  const hold = (event) => { if (event.cancelable && event.touches.length > 1) event.preventDefault(); };
  canvas.addEventListener("touchstart", hold, { passive: false });
  canvas.addEventListener("touchmove", hold, { passive: false });
  canvas.addEventListener("contextmenu", (event) => event.preventDefault());
  canvas.addEventListener("wheel", (event) => {
    event.preventDefault();
    on.zoom(Math.exp(Math.sign(event.deltaY) * Math.min(Math.abs(event.deltaY), 60) * 0.003));
  }, { passive: false });
  canvas.addEventListener("keydown", (event) => {
    const keys = {
      ArrowLeft: () => on.turn(16, 0), ArrowRight: () => on.turn(-16, 0),
      ArrowUp: () => on.turn(0, 12), ArrowDown: () => on.turn(0, -12),
      "+": () => on.zoom(0.88), "=": () => on.zoom(0.88), "-": () => on.zoom(1.14), Home: () => on.home(),
    };
    if (!keys[event.key] || event.ctrlKey || event.metaKey || event.altKey) return;
    keys[event.key]();
    event.preventDefault();
  });
}
