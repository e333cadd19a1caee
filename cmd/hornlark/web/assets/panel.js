// The panel of an aircraft: it draws a face, once, and then one scene after the other. See face.go and scene.go for what they hold.
//
// It is used where somebody sits and presses, where somebody looks on, and where a kept sitting is gone through again. It knows nothing of
// where scenes come from, and asks for nothing but its root.

const svgNS = "http://www.w3.org/2000/svg";
const sweep = 270; // degrees, of a dial
const settling = 25; // ms, the time constant with which a needle goes to where it belongs: scenes come 50 times a second, frames 60
const levels = ["warning", "caution", "advisory"]; // the most urgent first
const marks = { warning: "!", caution: "*", advisory: "+" };
const colours = { g: "green", a: "amber", r: "red", w: "white" };
const speakers = { challenger: "partner", responder: "response", trainee: "you" };

// element makes an element with a class, a text and children.
export function element(name, className, ...children) {
  const e = document.createElement(name);
  if (className) e.className = className;
  e.append(...children);
  return e;
}

function shape(name, attributes, ...children) {
  const e = document.createElementNS(svgNS, name);
  for (const [key, value] of Object.entries(attributes)) e.setAttribute(key, value);
  e.append(...children);
  return e;
}

// put changes what differs, and leaves alone what does not: fifty times a second nearly nothing does.
function put(e, text) {
  if (e.textContent !== text) e.textContent = text;
}

function mark(e, name, is) {
  if (e.classList.contains(name) !== !!is) e.classList.toggle(name, !!is);
}

function hide(e, is) {
  if (e.hidden !== !!is) e.hidden = !!is;
}

// clock is a time of the sitting in minutes and seconds, with hours once there are any.
export function clock(ms) {
  const total = Math.floor(Math.max(ms, 0) / 1000);
  const two = (n) => String(n).padStart(2, "0");
  const rest = two(Math.floor(total / 60) % 60) + ":" + two(total % 60);
  return total >= 3600 ? Math.floor(total / 3600) + ":" + rest : rest;
}

// steps are the figures beside a scale: round ones, so many or fewer.
function steps(min, max, most) {
  const rough = (max - min) / most;
  const unit = 10 ** Math.floor(Math.log10(rough));
  const step = unit * [1, 2, 5, 10].find((n) => n * unit >= rough * 0.999);
  const out = [];
  for (let n = Math.ceil(min / step - 1e-9); n * step <= max + step * 1e-9; n++) out.push(n * step);
  return out;
}

const plain = (value) => String(Number(value.toFixed(3)));

// A dial or a tape: it knows how to draw its scale once, and where its needle goes.
class Instrument {
  constructor(gauge) {
    this.gauge = gauge;
    this.target = this.at = NaN; // of the scale, from 0 to 1; not a number: dead
    this.root = element("div", "instrument dead " + (gauge.round ? "dial" : "tape"));
    this.name = element("div", "name", gauge.name);
    if (gauge.spoken) this.name.title = gauge.spoken;
    this.figure = element("span", "figure", "---");
    this.flag = element("span", "flag");
    this.unit = element("span", "unit", gauge.unit);
    this.needle = gauge.round
      ? shape("path", { class: "needle", d: "M50 8 L53 50 L50 58 L47 50 Z" })
      : shape("path", { class: "needle", d: "M28 0 L12 -6 L12 6 Z" });
    const [box, parts] = gauge.round ? ["0 0 100 86", this.dialScale()] : ["0 0 72 110", this.tapeScale()];
    this.svg = shape("svg", { viewBox: box, "aria-hidden": "true", focusable: "false" }, ...parts, this.needle);
    if (gauge.round) this.svg.append(shape("circle", { class: "hub", cx: 50, cy: 50, r: 4.5 }));
    this.root.append(this.name, this.svg, element("div", "reading", this.flag, this.figure, this.unit));
    this.draw(0);
  }

  part(value) {
    const { min, max } = this.gauge;
    return Math.min(1, Math.max(0, (value - min) / (max - min)));
  }

  dialScale() {
    const on = (value, r) => {
      const a = ((this.part(value) * sweep - sweep / 2) * Math.PI) / 180;
      return [50 + r * Math.sin(a), 50 - r * Math.cos(a)];
    };
    const line = (value, from, to, name) => {
      const [[x1, y1], [x2, y2]] = [on(value, from), on(value, to)];
      return shape("line", { class: name, x1, y1, x2, y2 });
    };
    const radius = { green: 43.5, amber: 42.5, red: 41.5, white: 44 };
    const arcs = this.gauge.bands.map(({ from, to, colour }) => {
      const r = radius[colour] ?? 44;
      const [[x1, y1], [x2, y2]] = [on(from, r), on(to, r)];
      const large = (this.part(to) - this.part(from)) * sweep > 180 ? 1 : 0;
      return shape("path", { class: "band " + colour, d: `M${x1} ${y1} A${r} ${r} 0 ${large} 1 ${x2} ${y2}` });
    });
    const limits = this.gauge.bands.filter((b) => b.colour === "red").flatMap((b) => [b.from, b.to])
      .filter((v) => v > this.gauge.min && v < this.gauge.max).map((v) => line(v, 35, 47, "limit"));
    const marks = steps(this.gauge.min, this.gauge.max, 6).flatMap((value) => {
      const [x, y] = on(value, 28);
      const text = shape("text", { class: "number", x, y, dy: "0.36em" });
      text.textContent = plain(value);
      return [line(value, 36, 45, "tick"), text];
    });
    return [shape("circle", { class: "glass", cx: 50, cy: 50, r: 47.5 }), ...arcs, ...marks, ...limits];
  }

  tapeScale() {
    const y = (value) => 104 - this.part(value) * 98;
    const width = { green: 4, amber: 8, red: 12, white: 2 };
    const bars = this.gauge.bands.flatMap(({ from, to, colour }) => {
      const w = width[colour] ?? 2;
      const top = y(to);
      const high = Math.max(0.5, y(from) - top);
      const bar = shape("line", { class: "band " + colour, x1: 30 + w / 2, x2: 30 + w / 2, y1: top + high, y2: top });
      bar.setAttribute("stroke-width", w);
      return [bar];
    });
    const limits = this.gauge.bands.filter((b) => b.colour === "red").flatMap((b) => [b.from, b.to])
      .filter((v) => v > this.gauge.min && v < this.gauge.max).map((v) => shape("line", { class: "limit", x1: 29, x2: 44, y1: y(v), y2: y(v) }));
    const marks = steps(this.gauge.min, this.gauge.max, 5).flatMap((value) => {
      const text = shape("text", { class: "number side", x: 46, y: y(value), dy: "0.36em" });
      text.textContent = plain(value);
      return [shape("line", { class: "tick", x1: 29, x2: 34, y1: y(value), y2: y(value) }), text];
    });
    return [shape("line", { class: "rail", x1: 30, x2: 30, y1: 6, y2: 104 }), ...bars, ...marks, ...limits];
  }

  // show takes over what the instrument reads now; band is empty for one that is dead. It reports whether the needle has somewhere to go.
  show(value, band, jump) {
    const alive = band !== "" && band !== "-";
    const colour = colours[band] ?? "";
    if (this.band !== band) {
      this.band = band;
      this.root.className = "instrument " + (this.gauge.round ? "dial " : "tape ") + (alive ? colour : "dead");
      put(this.flag, band === "r" ? "!" : band === "a" ? "*" : "");
    }
    put(this.figure, alive ? value.toFixed(this.gauge.decimals) : "---");
    if (!alive) {
      this.target = NaN;
      if (!Number.isNaN(this.at)) this.place(NaN);
      return false;
    }
    this.target = this.part(value);
    if (jump || Number.isNaN(this.at)) this.place(this.target);
    return this.at !== this.target;
  }

  // draw moves the needle on by so many ms, and reports whether it is still on its way.
  draw(ms) {
    if (Number.isNaN(this.target)) return this.place(NaN);
    const rest = this.target - this.at;
    if (Math.abs(rest) < 0.0004) return this.place(this.target);
    this.place(this.at + rest * (1 - Math.exp(-ms / settling)));
    return true;
  }

  place(at) {
    if (Object.is(at, this.at) && this.placed) return false;
    this.placed = true;
    this.at = at;
    const part = Number.isNaN(at) ? 0 : at;
    this.needle.setAttribute("transform", this.gauge.round ? `rotate(${(part * sweep - sweep / 2).toFixed(2)} 50 50)` : `translate(0 ${(104 - part * 98).toFixed(2)})`);
    return false;
  }
}

// Panel draws one aircraft into an element. Options:
//   press({key, shift, char, at})  gets what is pressed here, at being the time stamp of the event; without it nothing can be pressed
//   words                          what there is to do, as the policy has it (see words.go); without it only the aircraft is drawn
//   veil                           hide the aircraft while the sitting is paused; it is hidden unless this is false
export class Panel {
  constructor(root, face, options = {}) {
    this.root = root;
    this.face = face;
    this.options = options;
    this.calm = matchMedia("(prefers-reduced-motion: reduce)");
    root.classList.add("panel");
    root.replaceChildren();
    this.instruments = face.gauges.map((gauge) => new Instrument(gauge));
    const aircraft = element("div", "aircraft", this.captions(), this.gauges(), this.outside(), this.cockpit());
    root.append(this.head(), this.talk(), aircraft);
    if (options.press) this.listen();
    this.blank("");
  }

  head() {
    this.place = element("span", "place");
    this.item = element("span", "item");
    this.time = element("span", "time", "00:00");
    this.headBar = element("div", "head", this.place, this.item, this.time); // a page may add to it
    return this.headBar;
  }

  // talk is what is asked, how it is answered, and what was said.
  talk() {
    this.state = element("p", "state");
    this.challenge = element("p", "challenge");
    this.wanted = element("p", "wanted");
    this.digits = element("span", "digits");
    this.bar = element("div", "bar", (this.left = element("div", "left")));
    this.late = element("span", "late");
    this.lastLine = element("p", "last");
    this.bar.setAttribute("aria-hidden", "true");
    const asks = element("section", "asks", this.state, this.challenge, this.wanted, this.digits, element("div", "timing", this.bar, this.late), this.lastLine);
    asks.setAttribute("aria-label", "What is asked");
    this.lines = element("div", "lines");
    // What was said and pressed is read out; nothing that has to be noticed ever is.
    this.lines.setAttribute("role", "log");
    this.lines.setAttribute("aria-live", "polite");
    this.lines.setAttribute("aria-label", "What was said and pressed");
    this.lines.tabIndex = 0;
    new ResizeObserver(() => { this.lines.scrollTop = this.lines.scrollHeight; }).observe(this.lines);
    return element("div", "talk", asks, this.answers(), this.lines);
  }

  answers() {
    this.answerKeys = element("div", "answers");
    this.pad = element("div", "pad");
    this.pad.hidden = true;
    if (!this.options.press) return this.answerKeys;
    const stop = this.face.stop;
    for (const [key, name, what, label] of [
      ["enter", "yes", "Yes", "Enter"], ["backspace", "no", "No", "Backspace"], ["space", "quiet", "Silence", "Space"],
      ["stop", "stop", "Stop", stop], ["tab", "again", "Say again", "Tab"], ["esc", "pause", "Pause", "Esc"],
    ]) this.answerKeys.append(this.button(key, "answer " + name, element("span", "what", what), element("kbd", "", label)));
    for (const digit of "1234567890.-") {
      const b = this.button("", "digit", digit === "-" ? "−" : digit);
      b.dataset.char = digit; // while a reading is typed, and at no other time
      this.pad.append(b);
    }
    this.pad.setAttribute("role", "group");
    this.pad.setAttribute("aria-label", "Figures of the reading");
    return element("div", "hands", this.answerKeys, this.pad);
  }

  // button makes a button that presses a key. A finger or the first button of a mouse presses it as it goes down; with shift, or by another
  // button of a mouse, it is the position before. What comes from elsewhere, as from a screen reader, comes as a click.
  button(key, className, ...children) {
    const b = element("button", className, ...children);
    b.type = "button";
    b.dataset.key = key;
    return b;
  }

  captions() {
    this.lamps = [];
    const grid = element("ul", "captions");
    grid.setAttribute("aria-label", "Warning, caution and advisory lights");
    for (const level of levels) {
      this.face.captions.forEach((caption, i) => {
        if (caption.level !== level) return;
        const sign = element("span", "mark", marks[level]);
        const lamp = element("li", "lamp " + level, sign, element("span", "text", caption.text));
        this.lamps[i] = lamp;
        grid.append(lamp);
      });
    }
    return grid;
  }

  gauges() {
    const round = element("div", "dials");
    const level = element("div", "tapes");
    for (const instrument of this.instruments) (instrument.gauge.round ? round : level).append(instrument.root);
    round.style.setProperty("--count", round.childElementCount);
    level.style.setProperty("--count", level.childElementCount);
    const section = element("section", "gauges", round, level);
    section.setAttribute("aria-label", "Instruments");
    return section;
  }

  outside() {
    this.sounds = this.face.alerts.map((alert) => {
      const sound = element("span", "sound " + alert.level);
      sound.hidden = true;
      return sound;
    });
    this.quiet = element("span", "quiet", "none");
    this.facts = element("span", "facts");
    const order = levels.flatMap((level) => this.sounds.filter((_, i) => this.face.alerts[i].level === level));
    return element("div", "around",
      element("p", "heard", element("span", "label", "Sound "), this.quiet, ...order),
      element("p", "seen", element("span", "label", "Outside "), this.facts));
  }

  cockpit() {
    this.controls = [];
    const zones = element("div", "zones help-" + this.face.help);
    for (const zone of this.face.zones) {
      const title = element("h2", "zone-title", zone.title);
      const keys = element("div", "keys");
      zone.keys.forEach((place, i) => keys.append(this.control(place, `${zone.title}, place ${i + 1}`)));
      const row = element("section", "zone zone-" + zone.id, title, keys);
      row.setAttribute("aria-label", zone.title);
      zones.append(row);
    }
    return zones;
  }

  // control is one place of the cockpit. Where there is no map every place is alike, and can be pressed.
  control(place, where) {
    const control = this.face.controls[place.control];
    if (!control && this.face.help !== "none") return element("div", "control empty", element("kbd", "", place.label));
    const name = control?.name ?? "";
    const kind = this.options.press ? "button" : "div";
    const next = this.options.press ? this.button(place.key, "next") : element(kind, "next");
    if (!control) {
      if (this.options.press) next.setAttribute("aria-label", where);
      return element("div", "control blank", next);
    }
    const guard = element("span", "guard");
    guard.title = "held by a guard or a latch";
    const position = element("span", "position");
    if (!name && this.options.press) next.append(element("span", "unseen", where + ": "));
    next.append(element("span", "label", element("kbd", "", place.label), " ", guard, element("span", "name", name), element("span", "short", control.short)), " ", position);
    const root = element("div", "control", next);
    if (this.options.press && control.positions.length > 2) {
      const back = this.button(place.key, "back", element("span", "sign", "‹"));
      back.dataset.shift = "1";
      back.setAttribute("aria-label", (name || where) + ", the position before");
      root.classList.add("long");
      root.append(back);
    }
    this.controls[place.control] = { root, guard, position };
    return root;
  }

  // listen has keys, mouse and touch press. While the cockpit has the keys they do nothing else on the page; F6 gives them to the page and back.
  listen() {
    this.cockpitKeys = true;
    this.listening = new AbortController();
    const { signal } = this.listening;
    const press = (key, shift, event, char = "") => this.options.press({ key, shift, char, at: event.timeStamp });
    const pressed = (b, event) => press(b.dataset.key, event.shiftKey || event.button === 2 || b.dataset.shift === "1", event, b.dataset.char);
    const target = (event) => event.target.closest?.("button[data-key]");
    let down = null; // what was pressed by a pointer, whose click is not to press it once more
    this.root.addEventListener("pointerdown", (event) => {
      const b = target(event);
      if (!b || (event.pointerType === "mouse" && event.button > 2)) return;
      down = b;
      event.preventDefault();
      b.classList.add("down");
      pressed(b, event);
    }, { signal });
    const up = () => { this.root.querySelectorAll(".down").forEach((b) => b.classList.remove("down")); };
    for (const name of ["pointerup", "pointercancel"]) addEventListener(name, up, { signal });
    this.root.addEventListener("contextmenu", (event) => target(event) && event.preventDefault(), { signal });
    this.root.addEventListener("click", (event) => {
      const b = target(event);
      if (b && !(down === b && event.detail > 0)) pressed(b, event);
      down = null;
    }, { signal });
    addEventListener("keydown", (event) => {
      if (this.root.hidden) return; // they belong to what is shown instead
      if (event.code === "F6") {
        this.cockpitKeys = !this.cockpitKeys;
        mark(this.root, "page-keys", !this.cockpitKeys);
        this.options.keys?.(this.cockpitKeys);
        event.preventDefault();
        return;
      }
      const typing = this.scene?.typing && /^Numpad([0-9]|Decimal|Subtract)$/.test(event.code);
      const key = event.code === "NumpadEnter" ? "enter" : typing ? "pad" : this.face.keys[event.code];
      if (!key || !this.cockpitKeys || event.ctrlKey || event.altKey || event.metaKey || document.querySelector("dialog[open]")) return;
      event.preventDefault();
      if (!event.repeat) press(typing ? "" : key, event.shiftKey, event, event.key.length === 1 ? event.key : "");
    }, { signal });
  }

  // close has nothing more pressed here: what is drawn into the same element next would have it pressed twice.
  close() {
    this.listening?.abort();
  }

  // blank shows nothing as alive: there is no scene, or none that could be relied on.
  blank(why) {
    this.scene = null;
    this.dead = true;
    this.root.classList.add("blank");
    this.aircraft({ readings: [], bands: "", lit: "", sounding: "", positions: [], locked: "", facts: "" }, true);
    for (const e of [this.place, this.item, this.challenge, this.wanted, this.digits, this.late, this.lastLine]) put(e, "");
    put(this.time, "--:--");
    put(this.state, why);
    hide(this.bar, true);
    hide(this.pad, true);
  }

  // show draws a scene. With jump the needles are there at once.
  show(scene, { jump = false } = {}) {
    this.scene = scene;
    this.shownAt = performance.now();
    if (this.dead) this.root.classList.remove("blank");
    this.dead = false;
    const veiled = scene.paused && !scene.ended && this.options.veil !== false;
    const none = { readings: [], bands: "", lit: "", sounding: "", positions: [], locked: "", facts: "" };
    this.aircraft(veiled ? none : scene, jump || this.calm.matches);
    mark(this.root, "paused", veiled);
    put(this.place, scene.phases && scene.phase_no ? `phase ${scene.phase_no}/${scene.phases} ${scene.phase}` : "");
    put(this.item, scene.items ? `item ${scene.item_no ?? 0}/${scene.items}` : "");
    put(this.time, clock(scene.at));
    this.asks(scene);
    if (scene.said) this.said(scene.said);
  }

  aircraft(scene, jump) {
    let moving = false;
    this.instruments.forEach((instrument, i) => {
      moving = instrument.show(scene.readings[i] ?? 0, scene.bands[i] ?? "", jump) || moving;
    });
    if (moving) this.start();
    this.lamps.forEach((lamp, i) => mark(lamp, "lit", scene.lit[i] === "1"));
    let quiet = true;
    this.sounds.forEach((sound, i) => {
      const state = scene.sounding[i] ?? "0";
      const alert = this.face.alerts[i];
      if (state !== "0") quiet = false;
      put(sound, state === "1" ? marks[alert.level] + " " + alert.name : state === "2" ? "silenced: " + alert.name : "");
      mark(sound, "silenced", state === "2");
      hide(sound, state === "0");
    });
    hide(this.quiet, !quiet || this.dead);
    put(this.facts, this.face.outside.map(({ so, not }, i) => ({ 1: so, 0: not })[scene.facts[i]] ?? "").filter(Boolean).join(", "));
    this.controls.forEach((control, i) => {
      const { positions } = this.face.controls[i];
      const at = scene.positions[i];
      // While the aircraft is hidden the map says what the positions are, in their order.
      put(control.position, at !== undefined ? positions[at] ?? "" : this.dead ? "" : positions.length > 6 ? positions[0] + " to " + positions.at(-1) : positions.join(" "));
      const held = scene.locked[i] === "1";
      put(control.guard, held ? "held " : "");
      mark(control.root, "locked", held);
    });
  }

  // start has the needles move, frame by frame, until they are where they belong.
  start() {
    if (this.frame) return;
    let before = performance.now();
    const step = (now) => {
      const ms = Math.max(0, now - before);
      before = now;
      let moving = false;
      for (const instrument of this.instruments) moving = instrument.draw(ms) || moving;
      this.frame = moving ? requestAnimationFrame(step) : 0;
    };
    this.frame = requestAnimationFrame(step);
  }

  asks(scene) {
    const words = this.options.words ?? {};
    const q = scene.asked;
    let [state, challenge, wanted] = ["", q ? q.challenge : "", ""];
    if (scene.ended) [state, challenge] = ["The sitting has ended.", ""];
    else if (scene.paused) state = "Paused. " + (this.options.veil === false ? "" : "The aircraft is hidden while its time stands still. ") + (this.options.press ? "Esc resumes." : "");
    else if (scene.stopped) [state, challenge] = ["Stopped. " + (words.stopped ?? ""), q ? "left at: " + q.challenge : ""];
    else if (!q) state = words.unasked ?? "";
    else {
      if (q.again) state = "Again";
      wanted = words.others || (q.fix ? words.fix : words.answering?.[q.what]) || "";
    }
    put(this.state, state);
    put(this.challenge, challenge);
    put(this.wanted, wanted);
    put(this.digits, scene.typed ? scene.typed + "_" : "");
    hide(this.pad, !scene.typing || !this.options.press || !!scene.ended);
    this.timing(scene, q);
    const r = scene.last;
    let last = words.feedback ?? "";
    if (r) last = (r.late ? "[!] LATE" : r.right ? "[+] RIGHT" : "[x] WRONG") + (r.reaction ? ` ${r.reaction} ms` : "") + " " + r.text;
    put(this.lastLine, last);
    this.lastLine.className = "last" + (r ? (r.late ? " amber" : r.right ? " green" : " red") : "");
  }

  timing(scene, q) {
    const timed = q && q.within > 0 && !scene.stopped && !scene.paused && !scene.ended && !this.options.words?.others;
    hide(this.bar, !timed);
    if (!timed) return put(this.late, "");
    if (!q.spoken || q.spoken > scene.at) {
      this.fill(1);
      return put(this.late, "being asked");
    }
    const rest = q.within - (scene.at - q.spoken);
    this.fill(Math.max(0, rest / q.within));
    put(this.late, rest < 0 ? `LATE by ${(-rest / 1000).toFixed(1)} s` : `${(rest / 1000).toFixed(1)} s left`);
  }

  fill(part) {
    const width = (part * 100).toFixed(1) + "%";
    if (this.left.style.width !== width) this.left.style.width = width;
  }

  // said shows what was said and pressed last; only what is new is added, so that only that is read out.
  said(lines) {
    const key = (line) => `${line.at} ${line.who} ${line.text}`;
    const shown = this.shownLines ?? [];
    let same = lines.length ? shown.lastIndexOf(key(lines[0])) : shown.length;
    const overlaps = same >= 0 && shown.slice(same).every((k, i) => lines[i] && k === key(lines[i]));
    if (!overlaps) {
      this.lines.replaceChildren();
      same = 0;
    }
    const kept = overlaps ? shown.length - same : 0;
    for (let n = overlaps ? same : 0; n > 0; n--) this.lines.firstChild?.remove();
    for (const line of lines.slice(kept)) {
      this.lines.append(element("div", line.who === "trainee" ? "own" : "", element("span", "when", clock(line.at) + " "),
        element("span", "who", (speakers[line.who] ?? line.who) + " "), element("span", "text", line.text)));
    }
    this.shownLines = lines.map(key);
    if (lines.length > kept) this.lines.scrollTop = this.lines.scrollHeight;
  }
}
