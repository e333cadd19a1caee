// The instructor's station of one sitting: what the trainee sees, what goes on behind it, and what can be done about it. It gets the messages
// of station_told.go and sends those of station_acts.go; where they come from is nothing to it.
import { Panel, clock, element } from "./panel.js";

const stateWords = { open: "to come", turn: "next", asked: "asked", done: "done", omitted: "left out", skipped: "does not apply" };
const stateMarks = { open: "○", turn: "▷", asked: "▶", done: "✓", omitted: "✗", skipped: "–" };
const injectionWords = {
  waiting: "waiting", due: "due: it goes in once nothing else is in the aircraft", active: "in the aircraft, nothing shows yet", showing: "it shows",
  over: "over", deleted: "deleted",
};
const endedWords = { handled: "recovered", lost: "not recovered", cleared: "taken out" };
const keyHelp = [
  ["H", "hold, and release"], ["1 2 3", "act, checklist, timeline"], ["I", "to the abnormal to insert"], ["B", "to the phase to set back to"],
  ["S", "to what the crew says"], ["R", "to a remark"], ["?", "these keys"], ["Tab, arrows, Enter", "as on every page"],
];
const ids = (() => { let n = 0; return (name) => `${name}-${++n}`; })();

function put(e, text) {
  if (e.textContent !== text) e.textContent = text;
}

function button(text, act, className = "") {
  const b = element("button", className, text);
  b.type = "button";
  b.addEventListener("click", act);
  return b;
}

// field is a label over something to fill in.
function field(label, input, ...more) {
  input.id ||= ids("f");
  const l = element("label", "", label);
  l.htmlFor = input.id;
  return element("div", "field", l, input, ...more);
}

function input(type, properties) {
  return Object.assign(document.createElement("input"), { type, autocomplete: "off", ...properties });
}

// recall and retain keep a choice in this browser, if it keeps anything.
function recall(name) {
  try {
    return localStorage.getItem("hornlark-" + name);
  } catch {
    return null;
  }
}

function retain(name, value) {
  try {
    localStorage.setItem("hornlark-" + name, value);
  } catch { /* it is so until the page is gone */ }
}

function fill(select, options, keep = select.value) {
  const now = JSON.stringify(options);
  if (select.dataset.options === now) return;
  select.dataset.options = now;
  select.replaceChildren(...options.map(([value, text]) => {
    const o = element("option", "", text);
    o.value = value;
    return o;
  }));
  if (options.some(([value]) => value === keep)) select.value = keep;
}

// Station options: send(m) sends a message and reports whether it could; again() connects once more.
export class Station {
  constructor(root, options) {
    this.root = root;
    this.options = options;
    this.asked = new Map(); // what waits for an answer, by its number
    this.next = 1;
    this.lines = [];
    root.classList.add("station");
    this.banner = element("p", "banner");
    this.banner.setAttribute("role", "status");
    root.replaceChildren(this.banner);
    this.connection("connecting", false);
  }

  // connection says how it is connected.
  connection(text, ok, final = false) {
    this.banner.replaceChildren();
    this.root.classList.toggle("cut", !ok);
    if (ok) {
      if (!this.panel) this.banner.append("Waiting for the sitting to begin.");
      return;
    }
    this.banner.append(element("strong", "", text.charAt(0).toUpperCase() + text.slice(1) + "."), " ");
    if (this.panel) this.banner.append("What stands below is as it was.");
    if (final && !this.over) this.banner.append(" ", button("Connect here again", () => this.options.again()));
    this.panel?.blank("Not connected.");
    for (const [, done] of this.asked) done(false, "the connection was lost: it is not known whether it was done");
    this.asked.clear();
  }

  take(m) {
    switch (m.kind) {
      case "hello": return this.hello(m);
      case "scene": return this.scene(m);
      case "items": return this.items(m);
      case "stage": return this.stage(m);
      case "lines": return this.timeline(m);
      case "around": return this.around(m);
      case "answer": case "voice": case "code": {
        const done = this.asked.get(m.id);
        this.asked.delete(m.id);
        if (m.kind === "answer") done?.(m.done, m.why ?? "");
        else done?.(true, m);
      }
    }
  }

  // ask sends something, and has done called with what has come of it.
  ask(m, done) {
    const id = this.next++;
    this.asked.set(id, done);
    if (!this.options.send({ ...m, id })) {
      this.asked.delete(id);
      done(false, "it is not connected");
    }
  }

  // act has the sitting do something, and says where it was asked for what has come of it.
  act(m, says, did, then) {
    put(says, "…");
    says.className = "answer";
    this.ask({ kind: "do", ...m }, (done, why) => {
      put(says, done ? did + (why ? ": " + why : "") + "." : "Not done: " + why + ".");
      says.className = "answer " + (done ? "did" : "refused");
      if (done) then?.();
    });
  }

  // sure asks once more before something that cannot be undone.
  sure(question, what, act) {
    const dialog = element("dialog", "sure", element("p", "", question));
    const close = () => dialog.close();
    const no = button("Leave it", close);
    dialog.append(element("p", "row", button(what, () => { close(); act(); }, "danger"), no));
    dialog.addEventListener("close", () => dialog.remove());
    dialog.setAttribute("aria-label", what);
    document.body.append(dialog);
    dialog.showModal();
    no.focus();
  }

  hello(m) {
    this.about = m;
    this.over = false;
    document.title = `${m.trainee || m.title}: station`;
    this.build();
    this.panel = new Panel(this.view, m.face, { veil: false });
    this.banner.replaceChildren();
  }

  build() {
    const m = this.about;
    this.clock = element("span", "time", "00:00");
    this.state = element("strong", "state");
    this.holds = button("Hold", () => this.hold(), "hold");
    this.headSays = element("span", "answer");
    this.headSays.setAttribute("role", "status");
    const sees = { names: "", bare: "The trainee's map has no names. ", none: "The trainee has no map of the controls. " }[m.map] ?? "";
    const head = element("header", "head",
      element("h1", "", m.title),
      element("span", "who", [m.trainee || "nobody named", m.policy, m.played ? "answers are played" : ""].filter(Boolean).join(" · ")),
      this.state, this.clock, this.holds, button("Keys", () => this.help(), "quiet"), this.headSays);
    this.now = element("section", "now");
    this.now.setAttribute("aria-label", "Answer key");
    this.view = element("div", "");
    const sight = element("section", "sight", element("h2", "", "What the trainee sees"), element("p", "small", sees), this.view);
    this.list = element("ol", "checklist");
    this.events = element("ol", "events");
    for (const [list, label] of [[this.list, "Checklist"], [this.events, "Timeline"]]) {
      list.tabIndex = 0;
      list.setAttribute("aria-label", label);
    }
    this.acts = this.actions();
    this.tabs = this.tabbed([["Act", this.acts], ["Checklist", this.list], ["Timeline", this.events]]);
    this.root.replaceChildren(this.banner, head, this.now, this.tabs, sight, element("p", "caution", m.caution ?? ""));
    this.keys();
  }

  // tabbed puts parts behind tabs, by the pattern of the ARIA practices: arrows choose.
  tabbed(parts) {
    const bar = element("div", "bar");
    bar.setAttribute("role", "tablist");
    bar.setAttribute("aria-label", "Parts of the station");
    const tabs = [];
    const choose = (n, focus) => {
      parts.forEach(([, part], i) => {
        part.parentNode.hidden = i !== n;
        tabs[i].setAttribute("aria-selected", String(i === n));
        tabs[i].tabIndex = i === n ? 0 : -1;
      });
      if (focus) tabs[n].focus();
      if (parts[n][1] === this.events) this.toEnd();
      if (parts[n][1] === this.list) this.toNow();
    };
    const box = element("section", "tabs", bar);
    parts.forEach(([name, part], i) => {
      const tab = button(name, () => choose(i), "tab");
      tab.id = ids("tab");
      tab.setAttribute("role", "tab");
      const body = element("div", "body", part);
      body.id = ids("part");
      body.setAttribute("role", "tabpanel");
      body.setAttribute("aria-labelledby", tab.id);
      tab.setAttribute("aria-controls", body.id);
      tabs.push(tab);
      bar.append(tab);
      box.append(body);
    });
    bar.addEventListener("keydown", (event) => {
      const at = tabs.indexOf(document.activeElement);
      const to = { ArrowRight: at + 1, ArrowLeft: at - 1, Home: 0, End: tabs.length - 1 }[event.key];
      if (to === undefined) return;
      event.preventDefault();
      choose((to + tabs.length) % tabs.length, true);
    });
    this.choose = choose;
    choose(0);
    return box;
  }

  // part is a form with a heading, and a line for what has come of it.
  part(title, submit, ...children) {
    const says = element("p", "answer");
    says.setAttribute("role", "status");
    const form = element("form", "part", element("h2", "", title), ...children, says);
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      submit?.(says);
    });
    return { form, says };
  }

  actions() {
    const box = element("div", "acts");
    box.append(this.abnormals(), this.setBack(), this.say(), this.remark(), this.conditions(), this.sound(), this.leave());
    return box;
  }

  abnormals() {
    const m = this.about;
    this.which = document.createElement("select");
    fill(this.which, m.abnormals.map((a) => [a.name, a.title + (a.harmless ? " (harmless)" : "")]));
    const about = element("p", "small");
    const tell = () => put(about, m.abnormals.find((a) => a.name === this.which.value)?.about ?? "");
    this.which.addEventListener("change", tell);
    tell();
    const when = document.createElement("select");
    fill(when, [["now", "now"], ["in", "in some seconds"], ["phase", "as a phase begins"], ["item", "when an item is asked"]]);
    const seconds = input("number", { min: 1, max: 3600, step: 1, value: 30 });
    this.phaseOf = document.createElement("select");
    this.itemOf = document.createElement("select");
    const more = [field("Seconds", seconds), field("Phase", this.phaseOf), field("Item", this.itemOf)];
    const show = () => more.forEach((e, i) => { e.hidden = ["in", "phase", "item"][i] !== when.value; });
    when.addEventListener("change", show);
    show();
    const go = element("button", "primary", "Insert");
    const { form, says } = this.part("Abnormal", (line) => {
      const to = {};
      if (when.value === "in") to.at = Math.round(this.running() + 1000 * (Number(seconds.value) || 0));
      if (when.value === "phase") to.phase = this.phaseOf.value;
      if (when.value === "item") to.item = this.itemOf.value;
      this.act({ do: "insert", what: this.which.value, when: to }, line, "Inserted");
    }, field("Which", this.which), about, element("div", "row", field("When", when), ...more, go));
    this.injections = element("ul", "injections");
    this.injections.setAttribute("aria-label", "Injections of this sitting");
    this.injectionSays = says;
    form.append(this.injections);
    if (!m.abnormals.length) go.disabled = this.which.disabled = true;
    return form;
  }

  setBack() {
    this.backTo = document.createElement("select");
    const { form } = this.part("Set back", (line) => {
      const phase = this.backTo.value;
      if (!phase) return;
      const name = this.backTo.selectedOptions[0].text;
      this.sure(`Set the aircraft and the checklist back to the beginning of ${name}? What has been done since is to be done again.`, "Set back",
        () => this.act({ do: "back", what: phase }, line, "Set back"));
    }, element("div", "row", field("To the beginning of", this.backTo), element("button", "", "Set back…")));
    return form;
  }

  say() {
    const m = this.about;
    const text = input("text", { maxLength: m.max_said });
    this.sayText = text;
    const list = element("datalist", "", ...m.phrases.map((p) => Object.assign(document.createElement("option"), { value: p })));
    list.id = ids("phrases");
    text.setAttribute("list", list.id);
    const voice = element("p", "small", "Choose one of the crew's sentences, or write one.");
    let timer = 0;
    text.addEventListener("input", () => {
      clearTimeout(timer);
      if (!text.value.trim()) return;
      timer = setTimeout(() => this.ask({ kind: "voice", what: text.value }, (ok, got) => ok && put(voice, got.text ? got.text + "." : "")), 400);
    });
    const { form } = this.part("Say, in the crew's voice", (line) => {
      this.act({ do: "say", what: text.value }, line, "Said", () => { text.value = ""; });
    }, element("div", "row", field("Sentence", text), element("button", "", "Say")), list, voice);
    return form;
  }

  remark() {
    const text = Object.assign(document.createElement("textarea"), { maxLength: this.about.max_remark, rows: 2 });
    this.remarkText = text;
    let began = null;
    text.addEventListener("input", () => { began = text.value ? began ?? this.running() : null; });
    const { form } = this.part("Remark, for the debrief", (line) => {
      const at = began === null ? 0 : Math.max(1, Math.round(began - 300));
      this.act({ do: "remark", what: text.value, when: at ? { at } : {} }, line, "Kept", () => { text.value = ""; began = null; });
    }, field("Nothing of it is shown or said to the trainee before the end. It is about the moment at which you begin to write", text),
    element("div", "row", element("button", "", "Keep")));
    return form;
  }

  conditions() {
    const m = this.about;
    const { form, says } = this.part("Around the aircraft", null);
    this.figures = {};
    const figure = (name, title, unit, least, most, act) => {
      const value = input("number", { min: least, max: most, step: "any" });
      const now = element("span", "small");
      const set = button("Set", () => {
        if (value.value === "") return put(says, "Write a figure first.");
        this.act(act(Number(value.value)), says, `${title} is set`);
      });
      set.setAttribute("aria-label", "Set " + title.toLowerCase());
      value.addEventListener("keydown", (event) => { if (event.key === "Enter") { event.preventDefault(); set.click(); } });
      this.figures[name] = { value, now, unit };
      form.insertBefore(element("div", "row", field(`${title}, ${unit}, ${least} to ${most}`, value), set, now), says);
    };
    for (const w of m.weather) figure(w.name, w.title, w.unit, w.least, w.most, (to) => ({ do: "weather", what: w.name, to }));
    figure("fuel", "Fuel", "kg", 0, m.fuel_most, (to) => ({ do: "fuel", to }));
    this.power = button("Ground power", () => {
      const what = this.power.getAttribute("aria-pressed") === "true" ? "off" : "on";
      this.act({ do: "power", what }, says, what === "on" ? "Ground power is plugged in" : "Ground power is unplugged");
    });
    this.power.disabled = !m.power;
    form.insertBefore(element("div", "row", this.power, element("span", "small", m.power ? "" : "This aircraft has no connection for it.")), says);
    return form;
  }

  sound() {
    const m = this.about;
    const { form, says } = this.part("Sound", null);
    this.soundOn = button("Sound", () => {
      const what = this.soundOn.getAttribute("aria-pressed") === "true" ? "off" : "on";
      this.act({ do: "sound", what }, says, "The sound is " + what);
    });
    this.level = input("range", { min: m.softest, max: 0, step: 1, value: 0 });
    this.levelNow = element("output", "small");
    this.level.addEventListener("input", () => put(this.levelNow, this.level.value + " dB"));
    this.level.addEventListener("change", () => {
      this.act({ do: "level", to: Number(this.level.value) }, says, "The level is set");
    });
    form.insertBefore(element("div", "row", this.soundOn, field("Softer than the trainee has set it, dB", this.level), this.levelNow), says);
    return form;
  }

  leave() {
    const code = element("p", "code");
    code.setAttribute("role", "status");
    const { form } = this.part("Hand over", (line) => {
      put(line, "");
      this.ask({ kind: "handover" }, (ok, got) => {
        if (!ok) return put(line, "Not done: " + got + ".");
        code.replaceChildren("Code ", element("strong", "", got.code), ` at ${got.addresses.join(" or ")}. It works once; who uses it takes your place.`);
      });
    }, element("p", "small", "To another page or another instructor. Nobody else can come in meanwhile."), element("div", "row", element("button", "", "Make a code")), code);
    return form;
  }

  hold() {
    this.act({ do: this.held ? "release" : "freeze" }, this.headSays, this.held ? "Released" : "Held", () => {
      clearTimeout(this.headTimer); // the state beside it says so from then on
      this.headTimer = setTimeout(() => put(this.headSays, ""), 4000);
    });
  }

  // running is the running time of the sitting, in ms, as near as it is known here.
  running() {
    if (!this.staged) return 0;
    return this.staged.at + (this.staged.held || this.staged.ended ? 0 : performance.now() - this.stagedAt);
  }

  scene(m) {
    if (!this.panel) return;
    this.panel.show(m);
    put(this.clock, clock(m.at));
    const state = m.ended ? "ended" : m.paused ? "HELD" : m.stopped ? "STOPPED by the trainee" : "running";
    put(this.state, state);
    this.state.className = "state " + state.split(" ")[0].toLowerCase();
    this.held = !!m.paused;
    this.over = this.over || !!m.ended;
    put(this.holds, this.held ? "Release" : "Hold");
    this.options.summary?.({ scene: m });
  }

  items(m) {
    if (!this.list) return;
    this.itemsNow = m;
    const rows = [];
    for (const phase of m.phases) {
      const items = m.items.filter((it) => it.phase === phase.id);
      rows.push(element("li", "phase" + (phase.now ? " current" : ""), phase.title));
      for (const it of items) {
        const mark = element("span", "mark", stateMarks[it.state]);
        mark.setAttribute("aria-hidden", "true");
        const row = element("li", "item " + it.state, mark, element("span", "text", `${it.challenge}: ${it.response}`),
          element("span", "word", (stateWords[it.state] ?? it.state) + (it.was_not ? ", was not so" : "")));
        rows.push(row);
      }
    }
    this.list.replaceChildren(...rows);
    this.toNow();
    const phases = m.phases.map((p) => [p.id, p.title]);
    fill(this.backTo, m.phases.filter((p) => p.begun).map((p) => [p.id, p.title]));
    fill(this.phaseOf, phases.filter((_, i) => !m.phases[i].begun));
    fill(this.itemOf, m.items.filter((it) => it.state === "open" || it.state === "turn").map((it) => [it.id, it.challenge]));
    this.key();
    this.options.summary?.({ items: m });
  }

  toNow() {
    const row = this.list.querySelector(".asked, .turn");
    if (row && !this.list.parentNode.hidden) this.list.scrollTop = row.offsetTop - this.list.offsetTop - this.list.clientHeight / 3;
  }

  stage(m) {
    if (!this.list) return;
    this.staged = m;
    this.stagedAt = performance.now();
    this.key();
    this.showInjections(m.injections);
    for (const w of [...this.about.weather.map((f) => [f.name, m.weather[f.name]]), ["fuel", m.fuel]]) {
      const f = this.figures[w[0]];
      put(f.now, `now ${Number(w[1].toFixed(1))} ${f.unit}`);
    }
    for (const [b, on, name] of [[this.power, m.power, "Ground power"], [this.soundOn, m.sound, "Sound"]]) {
      b.setAttribute("aria-pressed", String(on));
      put(b, `${name}: ${on ? "on" : "off"}`);
    }
    if (document.activeElement !== this.level) this.level.value = m.level;
    put(this.levelNow, this.level.value + " dB");
    this.options.summary?.({ stage: m });
  }

  // key is the answer key: what is asked, what is right and why, and what is not as it should be.
  key() {
    const m = this.staged;
    if (!m) return;
    const item = this.itemsNow?.items.find((it) => it.id === m.key.item);
    const rows = [];
    if (item) {
      rows.push(element("p", "challenge", item.challenge), element("p", "response", "Response: " + item.response),
        element("p", "right", element("span", "label", "Right now "), element("strong", "", m.key.right || "nothing")));
      if (m.key.why) rows.push(element("p", "why", m.key.why));
      if (m.key.wrong) rows.push(element("p", "why", `It is ${m.key.wrong} that makes it so.`));
    } else rows.push(element("p", "response", m.ended ? "The sitting is over." : "Nothing is being asked."));
    const active = m.injections.find((i) => i.state === "active" || i.state === "showing");
    if (active) {
      rows.push(element("p", "in", element("strong", "", active.title), " ", active.state === "showing" ? (active.noticed ? "shows, and was noticed" : "shows, not noticed yet") : "nothing shows yet"));
      if (active.actions?.length) {
        rows.push(element("ol", "todo", ...active.actions.map((a) => element("li", a.done ? "did" : "", (a.done ? "✓ " : "") + a.say))));
      }
      if (m.differs.length) {
        rows.push(element("ul", "differs", ...m.differs.slice(0, 8).map((d) => element("li", "", `${d.what}: ${d.is}`, element("span", "small", ` (healthy: ${d.would_be})`)))));
      }
    }
    const text = rows.map((r) => r.outerHTML).join("");
    if (this.keyShown === text) return;
    this.keyShown = text;
    this.now.replaceChildren(element("h2", "", "Answer key"), ...rows);
  }

  showInjections(list) {
    const shown = JSON.stringify(list);
    if (this.injectionsShown === shown) return;
    this.injectionsShown = shown;
    const focus = document.activeElement?.dataset?.act;
    this.injections.replaceChildren(...list.map((i) => {
      const words = i.state === "over" ? endedWords[i.ended] ?? "over" : injectionWords[i.state] ?? i.state;
      const row = element("li", "injection " + i.state, element("span", "text", element("strong", "", i.title), " ",
        element("span", "small", [i.harmless ? "harmless" : "", i.mine ? "yours" : "", words, i.state === "waiting" ? i.when : "",
          i.state === "showing" ? (i.noticed ? "noticed" : "not noticed yet") : ""].filter(Boolean).join(", "))));
      const acts = { waiting: "Delete", due: "Delete", active: "Clear", showing: "Clear" }[i.state];
      if (acts) {
        const b = button(acts + "…", () => this.sure(acts === "Delete" ? `Delete ${i.title}? It will not come.` : `Take ${i.title} out of the aircraft?`, acts,
          () => this.act({ do: acts.toLowerCase(), what: i.name }, this.injectionSays, acts === "Delete" ? "Deleted" : "Taken out")));
        b.dataset.act = acts + i.name;
        b.setAttribute("aria-label", `${acts} ${i.title}`);
        row.append(b);
      }
      return row;
    }));
    if (this.staged.to_draw) this.injections.append(element("li", "small", `${this.staged.to_draw} more will be drawn.`));
    if (focus) [...this.injections.querySelectorAll("button")].find((b) => b.dataset.act === focus)?.focus();
  }

  timeline(m) {
    if (!this.events) return;
    const atEnd = this.events.scrollHeight - this.events.scrollTop - this.events.clientHeight < 40;
    while (this.events.children.length > m.from) this.events.lastChild.remove();
    for (const line of m.lines) {
      this.events.append(element("li", [line.kind ?? "", line.slip ? "slip" : ""].join(" ").trim(),
        element("span", "when", clock(line.at) + " "), line.slip ? "✗ " : "", line.text));
    }
    if (atEnd) this.toEnd();
    if (m.lines.length) this.options.summary?.({ line: m.lines.at(-1) });
  }

  toEnd() {
    if (!this.events.parentNode.hidden) this.events.scrollTop = this.events.scrollHeight;
  }

  around(m) {
    if (!this.panel) return;
    const text = [m.notice, m.silent ? "Nothing is heard at the trainee's." : ""].filter(Boolean).join(" ");
    this.banner.replaceChildren(text);
  }

  keys() {
    if (this.listening) return;
    this.listening = true;
    addEventListener("keydown", (event) => {
      const inField = event.target.closest?.("input, select, textarea, dialog");
      if (!this.panel || this.root.hidden || inField || event.ctrlKey || event.altKey || event.metaKey || document.querySelector("dialog[open]")) return;
      const to = (e) => { this.choose(0); e.focus(); e.scrollIntoView({ block: "nearest" }); };
      const act = {
        h: () => this.single() && this.hold(), 1: () => this.choose(0, true), 2: () => this.choose(1, true), 3: () => this.choose(2, true),
        i: () => to(this.which), b: () => to(this.backTo), s: () => to(this.sayText), r: () => to(this.remarkText), "?": () => this.help(),
      }[event.key.toLowerCase()];
      if (!act || event.repeat || (!this.single() && event.key !== "?")) return;
      event.preventDefault();
      act();
    });
  }

  // single tells whether single letters are keys here; whoever speaks to their machine may not want that.
  single() {
    return this.noKeys !== true && recall("keys") !== "off";
  }

  help() {
    const list = element("dl", "keys-help", ...keyHelp.flatMap(([key, what]) => [element("dt", "", element("kbd", "", key)), element("dd", "", what)]));
    const box = input("checkbox", { checked: this.single() });
    box.addEventListener("change", () => {
      this.noKeys = !box.checked;
      retain("keys", box.checked ? "on" : "off");
    });
    const close = button("Close", () => dialog.close());
    const dialog = element("dialog", "sure", element("h2", "", "Keys of the station"), list,
      element("p", "small", "No single key does what cannot be undone: that is asked once more."),
      element("label", "row", box, "Single letters are keys"), element("p", "row", close));
    dialog.setAttribute("aria-label", "Keys of the station");
    dialog.addEventListener("close", () => dialog.remove());
    document.body.append(dialog);
    dialog.showModal();
    close.focus();
  }
}
