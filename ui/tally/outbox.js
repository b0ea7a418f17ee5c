// Taps that the laptop has not confirmed yet, kept in this browser's localStorage, one entry per tap:
// two tabs of one phone never overwrite each other, and a reload or an empty battery loses nothing.
class Outbox {
  constructor(log, job) {
    this.prefix = `seamwright.${log}.${job}.`;
    this.memory = new Map(); // all that is waiting; also what counts where storage is refused
    this.lasting = true;
    this.load();
  }

  load() {
    try {
      for (let n = 0; n < localStorage.length; n += 1) {
        const key = localStorage.key(n);
        if (!key.startsWith(this.prefix)) continue;
        const tap = Outbox.read(localStorage.getItem(key));
        if (tap) this.memory.set(tap.id, tap);
      }
    } catch {
      this.lasting = false;
    }
  }

  static read(text) {
    try {
      const tap = JSON.parse(text);
      return tap && typeof tap.id === "string" ? tap : null;
    } catch {
      return null;
    }
  }

  add(tap) {
    this.memory.set(tap.id, tap);
    try {
      localStorage.setItem(this.prefix + tap.id, JSON.stringify(tap));
    } catch {
      this.lasting = false;
    }
  }

  drop(ids) {
    for (const id of ids) {
      if (!this.memory.delete(id)) continue;
      try {
        localStorage.removeItem(this.prefix + id);
      } catch {
        this.lasting = false;
      }
    }
  }

  taps() {
    return [...this.memory.values()];
  }

  // A random id; crypto.randomUUID is missing on pages that come over plain http.
  static newId() {
    const bytes = crypto.getRandomValues(new Uint8Array(12));
    return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  }
}
