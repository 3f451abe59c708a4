// The line to the command on this machine: one socket, binary messages in, JSON out, opened again when it drops.

/** A message with heights: {head, codes}. */
function opened(buffer) {
  const size = new DataView(buffer).getUint32(0, true);
  const head = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 4, size)));
  return { head, codes: new Uint16Array(buffer, 4 + size, head.nx * head.ny) };
}

export class Line {
  /** `on.heights(head, codes)`, `on.words(message)`, `on.lost()` and `on.found()` tell what comes. */
  constructor(on) {
    this.on = on;
    this.wait = 400;
    this.open();
  }

  open() {
    const address = `ws://${location.host}/live`;
    this.socket = new WebSocket(address);
    this.socket.binaryType = "arraybuffer";
    this.socket.addEventListener("message", ({ data }) => {
      if (data instanceof ArrayBuffer) {
        const { head, codes } = opened(data);
        this.on.heights(head, codes);
      } else {
        this.on.words(JSON.parse(data));
      }
    });
    this.socket.addEventListener("open", () => { this.wait = 400; this.on.found(); });
    this.socket.addEventListener("close", ({ code }) => {
      if (code === 4409) return;
      this.on.lost();
      setTimeout(() => this.open(), this.wait);
      this.wait = Math.min(this.wait * 2, 5000);
    });
  }

  say(message) {
    if (this.socket.readyState !== WebSocket.OPEN) return false;
    this.socket.send(JSON.stringify(message));
    return true;
  }
}

/** What is drawn and said of a shape; stones and still water come with a full one alone. */
export function versionOf({ panels, crest, toe, water, laid = [] }, before = {}) {
  return { panels: { ...before, ...panels }, built: crest, toe, water, laid };
}
