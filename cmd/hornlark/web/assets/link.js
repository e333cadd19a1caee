// The way from a page to the sitting: it enters by a code once, keeps the key that it is given, and connects again by itself.

const kept = "hornlark-key"; // only pages of this very address and port can read it

// Link options:
//   message(m)            gets each message
//   state(text, ok)       is told how the connection is
//   enter(why)            has somebody enter a code; why: what was wrong with the last one
export class Link {
  constructor(options) {
    this.options = options;
    this.tries = 0;
  }

  // start enters by the code of the address, if it has one, and connects.
  async start() {
    const code = decodeURIComponent(location.hash.slice(1));
    if (code) {
      history.replaceState(null, "", location.pathname);
      if (await this.enter(code, true)) return;
    }
    this.connect();
  }

  get key() {
    try {
      return localStorage.getItem(kept) ?? "";
    } catch {
      return this.held ?? ""; // a browser that keeps nothing: it is gone with the page
    }
  }

  set key(value) {
    this.held = value;
    try {
      localStorage.setItem(kept, value);
    } catch { /* as above */ }
  }

  // enter tries a code, and reports whether it let us in. A code of the address that has been used is most likely ours.
  async enter(code, quietly = false) {
    let why = "it cannot be reached";
    try {
      const answer = await fetch("/enter", {
        method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ code }), credentials: "same-origin",
      });
      const got = await answer.json();
      if (answer.ok) {
        this.key = got.key;
        this.tries = 0;
        this.connect();
        return true;
      }
      why = got.why;
    } catch { /* it is said */ }
    if (!quietly) this.options.enter(why);
    return false;
  }

  async connect() {
    clearTimeout(this.timer);
    this.options.state("connecting", false);
    if (!this.key) {
      this.options.enter("");
      return;
    }
    try {
      const known = await fetch("/known", { headers: { "Hornlark-Key": this.key }, credentials: "same-origin" });
      if (known.status === 401) {
        this.options.state("not connected", false);
        this.options.enter("");
        return;
      }
      if (!known.ok) throw new Error(String(known.status));
    } catch {
      this.again();
      return;
    }
    const socket = new WebSocket(location.origin.replace(/^http/, "ws") + "/live", ["hornlark", this.key]);
    this.socket?.close();
    this.socket = socket;
    socket.addEventListener("open", () => {
      this.opened = performance.now();
      this.options.state("connected", true);
    });
    socket.addEventListener("message", (event) => {
      this.tries = 0;
      this.options.message(JSON.parse(event.data));
    });
    socket.addEventListener("close", (event) => {
      if (this.socket !== socket) return;
      this.socket = null;
      if (event.code === 1008 || event.code === 1009) this.options.state(event.reason || "it was ended", false, true);
      else this.again();
    });
  }

  // again connects once more, after longer and longer, never more than eight seconds.
  again() {
    const wait = Math.min(8000, 500 * 2 ** this.tries++) * (0.75 + Math.random() / 2);
    this.options.state("not connected; it tries again by itself", false);
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.connect(), wait);
  }

  // send sends a message, and reports whether it could.
  send(m) {
    if (this.socket?.readyState !== WebSocket.OPEN) return false;
    this.socket.send(JSON.stringify(m));
    return true;
  }
}
