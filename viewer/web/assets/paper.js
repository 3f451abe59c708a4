// The picture folded away, so that a small window has room for the plan, and the picture on paper.

import { find } from "./dom.js";

const SHORT = 560; // pixels: a window lower than this opens with the picture folded away, where it would stay in sight

/** Let a button fold the picture away and bring it back. */
export function foldsAway(button, stage) {
  const picture = button.closest(".picture");
  const set = (folded) => {
    picture.classList.toggle("folded", folded);
    button.setAttribute("aria-expanded", String(!folded));
    button.firstElementChild.textContent = folded ? "Show picture" : "Hide picture";
    if (!folded) stage.resize();
  };
  button.addEventListener("click", () => set(!picture.classList.contains("folded")));
  if (innerHeight < SHORT && getComputedStyle(picture).position === "sticky") set(true);
}

/** What a graphics card has drawn is gone once it was shown: for paper it is drawn again, onto a canvas that stays. */
export function holdsInPrint(stage) {
  addEventListener("beforeprint", () => {
    const { canvas } = stage;
    const sheet = find("printed");
    const pen = sheet.getContext("2d");
    [sheet.width, sheet.height] = [canvas.width, canvas.height];
    stage.draw();
    pen.fillStyle = "#efeadb";
    pen.fillRect(0, 0, sheet.width, sheet.height);
    pen.drawImage(canvas, 0, 0);
    const times = canvas.width / Math.max(canvas.clientWidth, 1);
    pen.fillStyle = "#2b2620";
    pen.strokeStyle = "#fbf8f1";
    pen.lineWidth = 4 * times;
    pen.lineJoin = "round";
    pen.textAlign = "center";
    pen.font = `600 ${16 * times}px sans-serif`;
    for (const tag of stage.tags.children) {
      const [x, y] = tag.style.transform.match(/-?[\d.]+/g).map(Number);
      const lift = tag.dataset.key === "top" ? 40 : 8;
      if (tag.hidden) continue;
      for (const lay of ["strokeText", "fillText"]) pen[lay](tag.textContent, x * times, (y - lift) * times);
    }
  });
}
