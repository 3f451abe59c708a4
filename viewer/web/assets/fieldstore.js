// What is typed stays on the phone: written as it is typed, read again when the page is opened. A browser may refuse a
// page that is opened from a file its storage; then the page works all the same and says that nothing is kept.

const PREFIX = "hummock-field:";
const TRIAL = "hummock-field-trial";

/** Whether this browser keeps anything for this page: tried by writing, reading and taking away. */
export function keepsEntries(storage) {
  try {
    storage.setItem(TRIAL, "1");
    const kept = storage.getItem(TRIAL) === "1";
    storage.removeItem(TRIAL);
    return kept;
  } catch {
    return false;
  }
}

/** This window's storage, or null where asking for it is refused already. */
export function ownStorage() {
  try {
    return globalThis.localStorage ?? null;
  } catch {
    return null;
  }
}

const emptyBook = () => ({ benchmark: "", elevation: "", length: "", lines: [{ point: "", sight: "backsight", rod: "" }] });

/** Entries of a new job. */
export const emptyEntries = () => ({
  job: "", units: "", language: "", tab: "levels", book: emptyBook(),
  known: [], ties: [{ name: "", tapes: [{ from: "", typed: "" }, { from: "", typed: "" }], left: null }],
  instrument: { backsight: "", height: "" }, stake: "", rods: {}, done: {}, built: [], place: "", reading: "",
});

/** Entries out of a text, each part of its own kind or that of a new job: half a record never stops the page. */
export function entriesOf(text) {
  const fresh = emptyEntries();
  let read = null;
  try {
    read = JSON.parse(text ?? "");
  } catch {
    return fresh;
  }
  if (!read || typeof read !== "object") return fresh;
  for (const [key, value] of Object.entries(fresh)) {
    const found = read[key];
    const alike = Array.isArray(value) === Array.isArray(found) && typeof found === typeof value && found !== null;
    if (alike) fresh[key] = found;
  }
  return fresh;
}

/** The entries of one job, kept under its name. */
export class EntryStore {
  constructor(name, storage = ownStorage()) {
    this.key = PREFIX + name;
    this.storage = storage && keepsEntries(storage) ? storage : null;
  }

  get keeps() { return this.storage !== null; }

  read() {
    return entriesOf(this.storage?.getItem(this.key));
  }

  /** Answers whether the entries are kept now. */
  write(entries) {
    try {
      this.storage?.setItem(this.key, JSON.stringify(entries));
    } catch {
      this.storage = null;
    }
    return this.keeps;
  }
}
