// The reel: a kept sitting gone through again. See reel.go, reel_strip.go and reel_lanes.go for what it is given.
import { Panel, element, clock } from "./panel.js";

const svgNS = "http://www.w3.org/2000/svg";
const gutter = 84; // pixels at the left of the line of time, for the names of its lanes
const before = 3000; // ms, how long before a moment its line leads to
const saidLines = 48; // of what was said and pressed, as many as a View has
const $ = (id) => document.getElementById(id);

function draw(name, attributes, ...children) {
  const e = document.createElementNS(svgNS, name);
  for (const [key, value] of Object.entries(attributes)) e.setAttribute(key, value);
  e.append(...children);
  return e;
}

// bytesOf is what an element holds in letters.
function bytesOf(id) {
  const text = atob($(id).textContent.trim());
  const bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i++) bytes[i] = text.charCodeAt(i);
  return bytes;
}

async function unpack(id) {
  const stream = new Blob([bytesOf(id)]).stream().pipeThrough(new DecompressionStream("gzip"));
  return JSON.parse(await new Response(stream).text());
}

// last is the last of sorted numbers that is not above one, or -1.
function last(sorted, value) {
  let low = 0;
  let high = sorted.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (sorted[middle] <= value) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}

// pairs takes a row of numbers apart: how far each of its places is from the one before, and what is there.
function pairs(row, sums) {
  const at = [];
  const value = [];
  for (let i = 0; i < row.length; i += 2) {
    at.push((at.at(-1) ?? 0) + row[i]);
    value.push((sums ? value.at(-1) ?? 0 : 0) + row[i + 1]);
  }
  return { at, value };
}

// Strip gives the scene of any time.
class Strip {
  constructor(strip, step) {
    this.times = [];
    let row = 0;
    for (const [since, count] of strip.grid) {
      row += since;
      for (let i = 0; i < count; i++) this.times.push(row + i * step);
    }
    this.needles = strip.readings.map(({ grain, points }) => ({ grain, ...pairs(points, true) }));
    const steps = (of) => (of ?? []).map((row) => pairs(row, false));
    this.flags = {};
    for (const name of ["bands", "lit", "sounding", "locked", "facts"]) this.flags[name] = steps(strip[name]);
    this.positions = steps(strip.positions);
    let moment = 0;
    this.words = strip.words.map(({ since, scene }) => ({ at: (moment += since), scene }));
    this.wordsAt = this.words.map(({ at }) => at);
    this.said = strip.said;
    this.saidAt = strip.said.map(({ moment }) => moment);
  }

  // moment is the number of the last moment that is not after a time.
  moment(ms) {
    return Math.max(0, last(this.times, Math.floor(ms)));
  }

  reading(gauge, moment) {
    const { grain, at, value } = this.needles[gauge];
    const i = last(at, moment);
    if (i < 0) return 0;
    if (i + 1 >= at.length) return value[i] * grain;
    return (value[i] + ((value[i + 1] - value[i]) * (moment - at[i])) / (at[i + 1] - at[i])) * grain;
  }

  scene(ms) {
    const moment = this.moment(ms);
    const now = ({ at, value }) => value[last(at, moment)];
    const words = this.words[last(this.wordsAt, moment)].scene;
    const scene = { ...words, at: words.at || Math.floor(ms) };
    scene.readings = this.needles.map((_, i) => this.reading(i, moment));
    for (const [name, of] of Object.entries(this.flags)) scene[name] = String.fromCharCode(...of.map(now));
    scene.positions = this.positions.map(now);
    const heard = last(this.saidAt, moment) + 1;
    scene.said = this.said.slice(Math.max(0, heard - saidLines), heard).map(({ at, who, text }) => ({ at, who, text }));
    return scene;
  }
}

// tenths is a time in minutes, seconds and tenths, as the list and every report have it.
function tenths(ms) {
  const total = Math.floor(Math.max(0, ms) / 100 + 0.5);
  return `${Math.floor(total / 600)}:${String(Math.floor(total / 10) % 60).padStart(2, "0")}.${total % 10}`;
}

// rows puts spans under one another so that none lies over another, and gives the row of each.
function rows(spans, gap) {
  const free = [];
  return spans.map(({ from, to }) => {
    let row = free.findIndex((until) => until <= from);
    if (row < 0) row = free.length;
    free[row] = to + gap;
    return row;
  });
}

// Line is the line of time, with what happened.
class Line {
  constructor(root, data, player) {
    this.root = root;
    this.data = data;
    this.player = player;
    this.from = 0;
    this.to = Math.max(1000, data.length);
    root.setAttribute("aria-valuemax", Math.round(data.length / 1000));
    new ResizeObserver(() => this.draw()).observe(root);
    this.listen();
  }

  x(ms) {
    return gutter + ((ms - this.from) / (this.to - this.from)) * (this.width - gutter - 4);
  }

  time(x) {
    return this.from + ((x - gutter) / (this.width - gutter - 4)) * (this.to - this.from);
  }

  listen() {
    let held = null;
    const go = (event) => this.player.seek(this.time(event.clientX - this.root.getBoundingClientRect().left));
    this.root.addEventListener("pointerdown", (event) => {
      if (event.button) return;
      const at = event.target.dataset?.at;
      if (at !== undefined) return this.player.seek(Number(at) - before);
      held = event.pointerId;
      this.root.setPointerCapture(held);
      this.player.grab();
      go(event);
    });
    this.root.addEventListener("pointermove", (event) => {
      if (event.pointerId === held) go(event);
    });
    for (const name of ["pointerup", "pointercancel"]) {
      this.root.addEventListener(name, (event) => {
        if (event.pointerId !== held) return;
        held = null;
        this.player.letGo();
      });
    }
  }

  // zoom shows so much more or less of the time around where it is.
  zoom(factor) {
    const length = Math.max(1000, this.data.length);
    const span = Math.min(length, Math.max(5000, (this.to - this.from) * factor));
    this.from = Math.min(Math.max(0, this.player.at - span / 2), length - span);
    this.to = this.from + span;
    this.draw();
  }

  // follow moves what is shown when the time runs out of it.
  follow(at) {
    const span = this.to - this.from;
    if (at >= this.from && at <= this.to) return;
    const length = Math.max(1000, this.data.length);
    this.from = Math.min(Math.max(0, at - span * 0.1), length - span);
    this.to = this.from + span;
    this.draw();
  }

  bar(layer, span, y, height, className) {
    if (span.to < this.from || span.from > this.to) return;
    const left = Math.max(gutter, this.x(span.from));
    const wide = Math.max(1.5, Math.min(this.width, this.x(span.to)) - left);
    layer.append(draw("rect", { x: left, y, width: wide, height, class: "bar " + className }, draw("title", {}, `${tenths(span.from)} ${span.text}`)));
    if (wide > 26 && height > 9) this.label(layer, left + 3, y + height / 2 + 4, wide - 5, span.name);
  }

  // label writes as much of a text as there is room for.
  label(layer, x, y, room, text) {
    const fits = Math.floor(room / 6.2);
    const short = text.length > fits ? text.slice(0, Math.max(0, fits - 1)) + "…" : text;
    if (short.length > 2 || short === text) layer.append(draw("text", { x, y, "pointer-events": "none" }, short));
  }

  draw() {
    this.width = this.root.clientWidth;
    if (!this.width) return;
    const lanes = this.data.lanes;
    const layer = draw("g", {});
    let y = 14;
    const lane = (name, height, fill) => {
      layer.append(draw("text", { x: 2, y: y + Math.min(height, 14) / 2 + 5, class: "lane" }, name));
      fill(y);
      y += height + 3;
      layer.append(draw("line", { x1: 0, x2: this.width, y1: y - 1.5, y2: y - 1.5, class: "rule" }));
    };
    this.scale(layer);
    if (lanes.phases.length) lane("phases", 15, (y) => lanes.phases.forEach((s) => this.bar(layer, s, y, 14, "")));
    if (lanes.items.length) lane("items", 15, (y) => lanes.items.forEach((s) => this.bar(layer, s, y, 14, s.kind || "good")));
    lane("errors", 13, (y) => {
      for (const { at, text } of lanes.slips) {
        if (at < this.from || at > this.to) continue;
        const x = this.x(at);
        layer.append(draw("path", { d: `M${x - 4} ${y + 2}l8 8m-8 0l8-8`, class: "cross", "data-at": at }, draw("title", {}, `${tenths(at)} ${text}`)));
        layer.append(draw("rect", { x: x - 6, y, width: 12, height: 13, "data-at": at, class: "reach" }, draw("title", {}, `${tenths(at)} ${text}`)));
      }
    });
    const marked = rows(lanes.abnormals, 0);
    lane("abnormals", Math.max(1, ...marked.map((r) => r + 1)) * 15, (y) => {
      lanes.abnormals.forEach((s, i) => this.bar(layer, s, y + marked[i] * 15, 14, s.kind === "slip" ? "slip" : "good"));
      for (const { at, name, text } of lanes.marks) {
        if (at < this.from || at > this.to) continue;
        const x = this.x(at);
        const shape = { noticed: `M${x} ${y + 1}l5 6l-5 6l-5-6z`, action: `M${x - 4} ${y + 12}l4-10l4 10z`, worse: `M${x - 4} ${y + 3}l8 8m-8 0l8-8` }[name] ?? `M${x} ${y}v14`;
        layer.append(draw("path", { d: shape, class: "mark" }, draw("title", {}, `${tenths(at)} ${text}`)));
      }
    });
    if (lanes.acts.length) {
      lane("instructor", 12, (y) => {
        for (const { at, text } of lanes.acts) {
          if (at >= this.from && at <= this.to) layer.append(draw("path", { d: `M${this.x(at)} ${y + 1}l4 4l-4 6l-4-6z`, class: "mark" }, draw("title", {}, `${tenths(at)} ${text}`)));
        }
      });
    }
    this.packed(layer, lane, "alerts", lanes.alerts, 15, 30);
    this.packed(layer, lane, "lights", lanes.lights, 6, 36);
    lane("speech", 8, (y) => lanes.speech.forEach((s) => this.bar(layer, s, y + 1, 6, "speech")));
    lane("keys", 9, (y) => {
      for (const { at, text } of lanes.presses) {
        if (at >= this.from && at <= this.to) layer.append(draw("line", { x1: this.x(at), x2: this.x(at), y1: y, y2: y + 8, class: "tick" }, draw("title", {}, `${tenths(at)} ${text}`)));
      }
    });
    this.cursor = draw("line", { y1: 0, y2: y, class: "cursor" });
    this.root.replaceChildren(draw("svg", { height: y, viewBox: `0 0 ${this.width} ${y}`, "aria-hidden": "true" }, layer, this.cursor));
    this.point(this.player.at);
    this.player.plots?.draw();
  }

  // packed puts spans into as many rows as it takes, the lower the more there are.
  packed(layer, lane, name, spans, pitch, most) {
    if (!spans.length) return;
    const at = rows(spans, 0);
    const count = Math.max(...at) + 1;
    const each = Math.max(1, Math.min(pitch, most / count));
    const style = each < 5 ? " thin" : "";
    lane(name, Math.max(9, count * each), (y) => spans.forEach((s, i) => this.bar(layer, s, y + at[i] * each, each * 0.85, (s.kind ?? "") + style)));
  }

  scale(layer) {
    const step = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1800].map((s) => s * 1000).find((s) => (s / (this.to - this.from)) * (this.width - gutter) > 52) ?? 3600000;
    for (let at = Math.ceil(this.from / step) * step; at <= this.to; at += step) layer.append(draw("text", { x: this.x(at), y: 10, "text-anchor": at ? "middle" : "start", class: "lane" }, clock(at)));
  }

  // point shows where it is.
  point(at) {
    this.follow(at);
    if (!this.cursor) return;
    const x = this.x(at).toFixed(1);
    this.cursor.setAttribute("x1", x);
    this.cursor.setAttribute("x2", x);
  }
}

// Plots are gauges over the same line of time.
class Plots {
  constructor(root, choice, data, player) {
    this.root = root;
    this.data = data;
    this.player = player;
    this.chosen = new Set(data.plots);
    data.face.gauges.forEach((gauge, i) => {
      const box = element("input");
      box.type = "checkbox";
      box.checked = this.chosen.has(i);
      box.addEventListener("change", () => {
        if (box.checked) this.chosen.add(i);
        else this.chosen.delete(i);
        this.draw();
      });
      choice.append(element("label", "", box, " " + gauge.name));
    });
  }

  draw() {
    const { line, strip } = this.player;
    if (!line.width) return;
    this.cursors = [];
    const height = 46;
    this.root.replaceChildren(...[...this.chosen].sort((a, b) => a - b).map((i) => {
      const gauge = this.data.face.gauges[i];
      const y = (value) => 3 + (1 - Math.min(1, Math.max(0, (value - gauge.min) / (gauge.max - gauge.min)))) * (height - 6);
      const right = line.width - 4;
      const layer = draw("g", {}, draw("rect", { x: gutter, y: 3, width: right - gutter, height: height - 6, class: "frame" }));
      for (const band of gauge.bands) {
        if (band.colour !== "red" && band.colour !== "amber") continue;
        layer.append(draw("rect", { x: gutter, y: y(band.to), width: right - gutter, height: Math.max(1, y(band.from) - y(band.to)), class: band.colour }));
        for (const edge of [band.from, band.to]) if (edge > gauge.min && edge < gauge.max) layer.append(draw("line", { x1: gutter, x2: right, y1: y(edge), y2: y(edge), class: "edge " + band.colour }));
      }
      layer.append(draw("path", { d: this.path(i, line, strip, y), class: "line" }));
      layer.append(draw("text", { x: 2, y: 14, class: "lane" }, gauge.name + " " + gauge.unit));
      const figure = draw("text", { x: 2, y: 30 });
      const cursor = draw("line", { y1: 0, y2: height, class: "cursor" });
      this.cursors.push({ i, figure, cursor });
      return draw("svg", { height, viewBox: `0 0 ${line.width} ${height}`, role: "img", "aria-label": `${gauge.spoken || gauge.name} over the time of the sitting` }, layer, figure, cursor);
    }));
    this.point(this.player.at);
  }

  // path goes from point to point of a needle, and breaks off where the gauge was dead.
  path(gauge, line, strip, y) {
    const { at, value, grain } = strip.needles[gauge];
    const band = strip.flags.bands[gauge];
    const out = [];
    let down = false;
    const first = Math.max(0, last(at, strip.moment(line.from)));
    for (let i = first; i < at.length; i++) {
      const ms = strip.times[at[i]];
      const alive = String.fromCharCode(band.value[last(band.at, at[i])]) !== "-";
      if (alive) out.push((down ? "L" : "M") + Math.max(gutter, line.x(ms)).toFixed(1) + " " + y(value[i] * grain).toFixed(1));
      down = alive;
      if (ms > line.to) break;
    }
    return out.join("") || "M0 0";
  }

  point(at) {
    const { line, strip } = this.player;
    const scene = this.player.scene;
    for (const { i, figure, cursor } of this.cursors ?? []) {
      const x = line.x(at).toFixed(1);
      cursor.setAttribute("x1", x);
      cursor.setAttribute("x2", x);
      const text = scene.bands[i] === "-" ? "---" : scene.readings[i].toFixed(this.data.face.gauges[i].decimals);
      if (figure.textContent !== text) figure.textContent = text;
    }
  }
}

// Player is where in the sitting it is. While there is sound, the sound says so, and everything that is seen follows what is heard.
class Player {
  constructor(data) {
    this.data = data;
    this.at = 0;
    this.speed = 1;
    this.strip = new Strip(data.strip, data.step);
    this.panel = new Panel($("panel"), data.face, { veil: false, words: data.words });
    // Nothing is read out by itself: here whoever listens hears the sitting.
    for (const e of $("panel").querySelectorAll("[aria-live], [role=log]")) {
      e.removeAttribute("aria-live");
      if (e.getAttribute("role") === "log") e.removeAttribute("role");
    }
    this.scene = this.strip.scene(0);
    this.moments = [...$("moments").querySelectorAll("button")];
    this.momentsAt = this.moments.map((b) => Number(b.dataset.at));
    this.errors = data.lanes.slips.map(({ at }) => at).sort((a, b) => a - b);
    this.audio = this.listen();
    this.line = new Line($("timeline"), data, this);
    this.plots = new Plots($("plots"), $("choice"), data, this);
    this.controls();
  }

  // listen makes what plays the sound; null if this browser cannot.
  listen() {
    const bytes = bytesOf("reel-sound");
    if (!bytes.length) return null;
    const audio = new Audio();
    audio.preload = "auto";
    audio.src = URL.createObjectURL(new Blob([bytes], { type: "audio/flac" }));
    audio.addEventListener("error", () => this.deaf());
    audio.addEventListener("ended", () => this.stop());
    return audio;
  }

  deaf() {
    this.audio = null;
    $("sound").disabled = $("volume").disabled = true;
    $("sound").checked = false;
    this.say("This browser cannot play the sound; everything else goes on without it.");
    if (this.playing) this.began = [performance.now(), this.at];
  }

  say(text) {
    const e = $("trouble");
    e.textContent = text;
    e.hidden = !text;
  }

  async play() {
    if (this.at >= this.data.length) this.seek(0);
    this.playing = true;
    $("play").textContent = "Pause";
    this.began = [performance.now(), this.at];
    if (this.audio) {
      this.audio.playbackRate = this.speed;
      this.audio.currentTime = this.at / 1000;
      try {
        await this.audio.play();
      } catch (trouble) {
        if (trouble.name !== "AbortError") this.deaf();
      }
    }
    if (this.playing && !this.frame) this.frame = requestAnimationFrame(() => this.tick());
  }

  stop() {
    this.playing = false;
    this.audio?.pause();
    $("play").textContent = "Play";
    this.tell(this.at);
  }

  // grab holds the playing while the line of time is dragged.
  grab() {
    this.held = this.playing;
    if (this.playing) this.stop();
  }

  letGo() {
    if (this.held) this.play();
    this.held = false;
  }

  tick() {
    this.frame = 0;
    if (!this.playing) return;
    let at = this.audio ? this.audio.currentTime * 1000 : this.began[1] + (performance.now() - this.began[0]) * this.speed;
    if (at >= this.data.length) {
      at = this.data.length;
      if (!this.audio) this.stop();
    }
    this.show(at, false);
    if (this.playing) this.frame = requestAnimationFrame(() => this.tick());
  }

  seek(ms) {
    const at = Math.min(Math.max(0, ms), this.data.length);
    this.began = [performance.now(), at];
    if (this.audio) this.audio.currentTime = at / 1000;
    this.show(at, true);
  }

  show(at, jump) {
    this.at = at;
    this.scene = this.strip.scene(at);
    this.panel.show(this.scene, { jump });
    this.line.point(at);
    this.plots.point(at);
    const text = tenths(at);
    if ($("now").textContent !== text) {
      $("now").textContent = text;
      this.tell(at);
    }
  }

  // tell has the line of time say where it is, and the list show it.
  tell(at) {
    // While it plays, whoever has it read out hears the sitting, and the time every ten seconds.
    if (!this.playing || Math.abs(at - (this.told ?? -Infinity)) >= 10000) {
      this.told = at;
      const line = $("timeline");
      line.setAttribute("aria-valuenow", Math.floor(at / 1000));
      line.setAttribute("aria-valuetext", clock(at) + (this.scene.phase ? ", " + this.scene.phase : ""));
    }
    const now = this.moments[last(this.momentsAt, at)];
    if (now === this.current) return;
    this.current?.removeAttribute("aria-current");
    now?.setAttribute("aria-current", "true");
    this.current = now;
    const list = $("moments");
    if (now && this.playing && !list.contains(document.activeElement)) {
      const row = now.parentElement;
      list.scrollTop = row.offsetTop - list.offsetTop - list.clientHeight / 2;
    }
  }

  // toError goes to the error before, or to the next one, 3 seconds ahead of it.
  toError(on) {
    const from = this.at + before;
    const to = on ? this.errors.find((at) => at > from + 100) : this.errors.findLast((at) => at < from - 100);
    if (to !== undefined) this.seek(to - before);
  }

  controls() {
    const click = (id, does) => $(id).addEventListener("click", does);
    click("play", () => (this.playing ? this.stop() : this.play()));
    click("back", () => this.seek(this.at - 5000));
    click("forth", () => this.seek(this.at + 5000));
    click("earlier", () => this.toError(false));
    click("later", () => this.toError(true));
    click("closer", () => this.line.zoom(0.5));
    click("wider", () => this.line.zoom(2));
    $("earlier").disabled = $("later").disabled = !this.errors.length;
    $("speed").addEventListener("change", (event) => {
      this.began = [performance.now(), this.at];
      this.speed = Number(event.target.value);
      if (this.audio) this.audio.playbackRate = this.speed;
    });
    $("sound").addEventListener("change", (event) => (this.audio ? (this.audio.muted = !event.target.checked) : 0));
    $("volume").addEventListener("input", (event) => (this.audio ? (this.audio.volume = Number(event.target.value)) : 0));
    $("errors").addEventListener("change", (event) => $("moments").classList.toggle("alone", event.target.checked));
    $("moments").addEventListener("click", (event) => {
      const button = event.target.closest("button");
      if (button) this.seek(Number(button.dataset.at) - before);
    });
    document.addEventListener("keydown", (event) => this.key(event));
  }

  key(event) {
    if (event.altKey || event.metaKey || event.target.closest("input, select, fieldset")) return;
    const line = event.target.id === "timeline";
    const far = event.ctrlKey ? this.data.step : event.shiftKey ? 1000 : 5000;
    const does = {
      Space: () => (this.playing ? this.stop() : this.play()),
      ArrowLeft: () => this.seek(this.at - far), ArrowRight: () => this.seek(this.at + far),
      ...(line ? {
        ArrowDown: () => this.seek(this.at - far), ArrowUp: () => this.seek(this.at + far), PageUp: () => this.toError(false), PageDown: () => this.toError(true),
        Home: () => this.seek(0), End: () => this.seek(this.data.length),
      } : {}),
    }[event.code];
    if (!does || (event.code === "Space" && event.target.closest("button, summary"))) return;
    event.preventDefault();
    does();
  }
}

try {
  const data = await unpack("reel-data");
  $("player").hidden = false;
  const player = new Player(data);
  player.seek(0);
  player.say("");
  // For whoever looks at the page from outside, and for its tests.
  globalThis.reel = player;
} catch (trouble) {
  $("trouble").textContent = "The sitting cannot be shown by this browser (" + trouble + "). What happened stands below.";
}
