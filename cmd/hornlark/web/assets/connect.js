// The way from a page to the sitting that serves it: it enters with the code of the address, keeps what it was given for it, and connects again
// by itself whenever it is cut off.

const keyName = "hornlark-key"; // in this address's own storage; another sitting has another port, and so another storage
const silence = 700; // ms without a word after which nothing on the page counts as alive: words come three times a second at least
const waits = [200, 400, 800, 1500]; // ms between one try and the next

// Connection calls, of its handlers:
//   message(m)      with each message, read as JSON
//   state(s, why)   with "joining", "live", "silent", "lost", or "over", after which it does not come back, and why
export class Connection {
  constructor(handlers) {
    this.handlers = handlers;
    this.tries = 0;
    this.open();
    setInterval(() => this.watch(), 100);
  }

  set(state, why = "") {
    if (this.state === state && this.why === why) return;
    [this.state, this.why] = [state, why];
    this.handlers.state(state, why);
  }

  async open() {
    this.set(this.state ? "lost" : "joining", this.why ?? "");
    let key;
    try {
      key = await enter();
    } catch (error) {
      if (error.final) return this.set("over", error.message);
      return this.again();
    }
    const socket = new WebSocket(`ws://${location.host}/live`, ["hornlark", key]);
    this.socket = socket;
    socket.onopen = () => { this.heard = performance.now(); };
    socket.onmessage = (event) => {
      this.heard = performance.now();
      this.tries = 0;
      this.set("live");
      this.handlers.message(JSON.parse(event.data));
    };
    socket.onclose = (event) => {
      this.socket = null;
      if (event.code === 1008) return this.set("over", event.reason);
      this.again();
    };
  }

  again() {
    this.set("lost");
    setTimeout(() => this.open(), waits[Math.min(this.tries++, waits.length - 1)]);
  }

  // watch looks whether words still come: a connection can be dead for a long time before anybody says so.
  watch() {
    if (this.state === "live" && performance.now() - this.heard > silence) this.set("silent");
  }

  send(message) {
    if (this.socket?.readyState !== WebSocket.OPEN) return false;
    this.socket.send(JSON.stringify(message));
    return true;
  }
}

// enter gives the key of this page: by the code in the address, once, or the one that it has been given before.
async function enter() {
  const code = location.hash.slice(1);
  let known = null;
  try {
    known = localStorage.getItem(keyName);
  } catch { /* a browser that keeps nothing: the page cannot be loaded again then */ }
  if (code) {
    const answer = await fetch("enter", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ code }) });
    const body = await answer.json();
    if (answer.ok) {
      history.replaceState(null, "", location.pathname);
      try {
        localStorage.setItem(keyName, body.key);
      } catch { /* as above */ }
      enter.key = body.key;
      return body.key;
    }
    if (!known && answer.status !== 429) throw final(body.why);
  }
  known = enter.key ?? known;
  if (!known) throw final("this page is opened by its whole address, as it was given where the sitting was started");
  const answer = await fetch("known", { headers: { "Hornlark-Key": known } });
  if (answer.status === 401) throw final("this sitting has been opened elsewhere, or is another one; open its whole address, as it was given where it was started");
  if (!answer.ok) throw new Error(answer.statusText);
  return known;
}

function final(why) {
  return Object.assign(new Error(why), { final: true });
}
