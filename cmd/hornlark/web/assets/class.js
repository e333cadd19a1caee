// The page of a class: a tile for each sitting, and the station of the one that is looked at.
import { Link } from "./link.js";
import { Station } from "./station.js";
import { clock, element } from "./panel.js";

const gate = document.getElementById("gate");
const code = document.getElementById("code");
const why = document.getElementById("gate-why");
const root = document.getElementById("class");
const places = new Map();
let looked = 0;

const put = (e, text) => { if (e.textContent !== text) e.textContent = text; };

// parts of the page that are there whatever the class has
const says = element("p", "answer");
says.setAttribute("role", "status");
const connection = element("p", "banner");
connection.setAttribute("role", "status");
const tiles = element("ul", "tiles");
tiles.setAttribute("aria-label", "Sittings");
const stations = element("div", "stations");

function entry(id, label, properties = {}) {
  const i = Object.assign(document.createElement("input"), { id, autocomplete: "off", spellcheck: false, ...properties });
  const l = element("label", "", label);
  l.htmlFor = id;
  return [element("div", "field", l, i), i];
}
const [addressField, address] = entry("add-address", "Address of a station, as 192.168.1.7:4700");
const [codeField, newCode] = entry("add-code", "Its code", { maxLength: 64 });
const add = element("form", "row add", addressField, codeField, element("button", "", "Add"));
add.addEventListener("submit", (event) => {
  event.preventDefault();
  put(says, "");
  link.send({ kind: "add", address: address.value.trim(), code: newCode.value.trim() });
  newCode.value = "";
});
function all(label, what, did) {
  const b = element("button", "", label);
  b.type = "button";
  b.addEventListener("click", () => {
    let done = 0;
    let asked = 0;
    const refused = [];
    for (const p of places.values()) {
      if (!p.connected) continue;
      asked++;
      p.station.ask({ kind: "do", do: what }, (ok, because) => {
        if (ok) done++;
        else refused.push(`${p.name()}: ${because}`);
        put(says, `${did}: ${done} of ${asked}.${refused.length ? " " + refused.join("; ") + "." : ""}`);
      });
    }
    if (!asked) put(says, "No sitting is connected.");
  });
  return b;
}
const bar = element("header", "class-head", element("h1", "", "Class"), all("Hold all", "freeze", "Held"), all("Release all", "release", "Released"), add, says);
root.append(connection, bar, tiles, stations);

// Place is one sitting: its tile, and its station.
class Place {
  constructor(n) {
    this.n = n;
    this.root = element("div");
    this.root.hidden = true;
    this.station = new Station(this.root, {
      send: (m) => link.send({ kind: "to", n, m }),
      again: () => this.askCode(),
      summary: (news) => this.summary(news),
    });
    this.title = element("strong", "title", `Sitting ${n}`);
    this.state = element("span", "state");
    this.time = element("span", "time");
    this.where = element("span", "where");
    this.asks = element("span", "asks-line");
    this.wrong = element("span", "wrong");
    this.button = element("button", "tile", element("span", "line", this.title, this.time), element("span", "line", this.state, this.where), this.asks, this.wrong);
    this.button.type = "button";
    this.button.addEventListener("click", () => look(n));
    const [field, input] = entry(`code-${n}`, "Code", { maxLength: 64 });
    this.input = input;
    this.form = element("form", "row", field, element("button", "", "Enter"));
    this.form.hidden = true;
    this.form.addEventListener("submit", (event) => {
      event.preventDefault();
      link.send({ kind: "add", address: this.address, code: input.value.trim() });
      input.value = "";
    });
    tiles.append(element("li", "", this.button, this.form));
    stations.append(this.root);
  }

  name() { return this.title.textContent; }

  askCode() {
    this.form.hidden = false;
    this.input.focus();
  }

  take(m) {
    this.address = m.address;
    this.connected = m.connected;
    this.form.hidden = !m.wants;
    if (!m.connected) {
      put(this.state, m.state);
      this.button.classList.remove("held");
    }
    if (this.station.panel === undefined) put(this.where, m.address.replace("http://", ""));
    this.station.connection(m.state, m.connected);
  }

  // summary is what the tile has of a sitting.
  summary({ scene, items, stage }) {
    const about = this.station.about;
    if (about) put(this.title, about.trainee || `Sitting ${this.n}`);
    if (scene) {
      put(this.time, clock(scene.at));
      const state = scene.ended ? "ended" : scene.paused ? "HELD" : scene.stopped ? "STOPPED" : "running";
      put(this.state, state);
      this.button.classList.toggle("held", !!(scene.paused || scene.stopped));
      put(this.where, scene.phases ? `${scene.phase}, item ${scene.item_no ?? 0} of ${scene.items}` : about?.title ?? "");
      const heard = this.station.about.face.alerts.filter((_, i) => scene.sounding[i] === "1").map((a) => a.name);
      this.sounds = heard.join(", ");
    }
    if (items) this.items = items;
    if (stage) {
      const item = this.items?.items.find((it) => it.id === stage.key.item);
      put(this.asks, item ? `${item.challenge}: ${stage.key.right}` : "");
      const active = stage.injections.find((i) => i.state === "active" || i.state === "showing");
      this.fault = active ? `▶ ${active.title}, ${active.state === "active" ? "nothing shows yet" : active.noticed ? "noticed" : "not noticed yet"}` : "";
    }
    put(this.wrong, [this.fault, this.sounds ? "! " + this.sounds : ""].filter(Boolean).join(" · "));
  }
}

function look(n) {
  looked = n;
  for (const p of places.values()) {
    p.root.hidden = p.n !== n;
    p.button.setAttribute("aria-pressed", String(p.n === n));
  }
  link.send({ kind: "look", n });
}

const link = new Link({
  message: (m) => {
    gate.hidden = true;
    root.hidden = false;
    switch (m.kind) {
      case "class": link.send({ kind: "look", n: looked }); break;
      case "refused": put(says, "Not done: " + m.why + "."); break;
      case "place": {
        if (!places.has(m.n)) places.set(m.n, new Place(m.n));
        places.get(m.n).take(m);
        if (!looked) look(m.n);
        break;
      }
      case "from": places.get(m.n)?.station.take(m.m);
    }
  },
  state: (text, ok, final) => {
    put(connection, ok ? "" : text.charAt(0).toUpperCase() + text.slice(1) + ".");
    if (final) {
      const b = element("button", "", "Connect here again");
      b.type = "button";
      b.addEventListener("click", () => link.connect());
      connection.append(" ", b);
    }
    if (!ok) for (const p of places.values()) p.station.connection("not connected to the class", false);
  },
  enter: (wrong) => {
    gate.hidden = false;
    root.hidden = true;
    why.textContent = wrong && wrong.charAt(0).toUpperCase() + wrong.slice(1) + ".";
    why.className = "answer refused";
    code.focus();
  },
});

gate.addEventListener("submit", async (event) => {
  event.preventDefault();
  why.textContent = "";
  if (await link.enter(code.value)) code.value = "";
});

// N and P go to the next sitting and to the one before; what else there is for keys, the station says.
addEventListener("keydown", (event) => {
  const step = { n: 1, p: -1 }[event.key.toLowerCase()];
  if (!step || !places.size || event.repeat || event.ctrlKey || event.altKey || event.metaKey || event.target.closest?.("input, select, textarea, dialog") || places.get(looked)?.station.single() === false) return;
  event.preventDefault();
  const order = [...places.keys()];
  look(order[(order.indexOf(looked) + step + order.length) % order.length]);
});

link.start();
