// The page on which a sitting is sat: it shows the panel of the running sitting, and hands on what is pressed.

import { Connection } from "./connect.js";
import { Panel, element } from "./panel.js";
import { Sheet } from "./sheet.js";

const $ = (id) => document.getElementById(id);
let panel = null;
let hello = null;
let begun = false;
let said = [];
let sheet = null;

const connection = new Connection({ message, state });

function message(m) {
  switch (m.kind) {
    case "clock":
      connection.send({ kind: "clock", n: m.n, at: performance.now() });
      break;
    case "scene":
      if (begun && panel) panel.show(m);
      break;
    case "said":
      said = m.lines;
      if (panel) panel.said(said);
      break;
    case "hello":
      greeted(m);
      break;
    case "sheet":
      read(m);
      break;
    case "sound":
      sheet?.heard(m.text);
      break;
    case "begun":
      sit();
      break;
    case "notice":
      notice(m.text);
      break;
    case "level":
      notice(m.text, 2000);
      break;
    case "silent":
      silent(m.is);
      break;
    case "report":
      report(m.lines);
      break;
  }
}

// greeted draws the aircraft anew: a page that was cut off may have come back to another sitting.
function greeted(m) {
  hello = m;
  begun = false;
  said = [];
  sheet = null;
  $("sheet").hidden = true;
  $("leave").close();
  $("before").textContent = m.before;
  $("before").hidden = m.before === "";
  $("back").textContent = m.leave;
  $("back").hidden = m.leave === "";
  document.title = "Hornlark: " + m.title;
  $("title").textContent = m.title;
  for (const e of document.querySelectorAll("p.caution")) e.textContent = m.caution;
  $("keys").replaceChildren(...m.keys.map(([key, does]) => element("tr", "", element("td", "", element("kbd", "", key)), element("td", "", does))));
  panel?.close();
  panel = new Panel($("panel"), m.face, { words: m.words, press, keys: keysGiven });
  tools();
  silent(m.silent);
  notice(m.notice);
  connection.send({ kind: "step", step: step() });
  if (m.begun) return sit();
  $("card").hidden = false;
  $("panel").hidden = true;
  $("state").textContent = "The sitting begins when you are ready. Put on your headphones.";
  $("begin").focus();
}

// read shows a sheet in place of whatever was there.
function read(m) {
  begun = false;
  hello = null;
  panel?.close();
  panel = null;
  $("leave").close();
  $("card").hidden = true;
  $("panel").hidden = true;
  $("sheet").hidden = false;
  document.title = "Hornlark: " + m.title;
  notice("");
  sheet = new Sheet($("sheet"), m, (key, answer) => connection.send({ kind: "choose", n: m.n, key, answer }));
  scrollTo(0, 0);
}
addEventListener("keydown", (event) => sheet?.key(event));

// step is in which steps the page's clock counts, in ms: the least of a few.
function step() {
  let least = Infinity;
  const until = performance.now() + 250;
  for (let n = 0, before = performance.now(); n < 20; ) {
    const now = performance.now();
    if (now > before) {
      least = Math.min(least, now - before);
      before = now;
      n++;
    }
    if (now > until) break;
  }
  return Number.isFinite(least) ? least : 100;
}

function begin() {
  if (!begun && hello && !$("begin").hidden) connection.send({ kind: "ready" });
}
$("begin").addEventListener("click", begin);
$("back").addEventListener("click", () => connection.send({ kind: "leave" }));
addEventListener("keydown", (event) => {
  if (event.code === "Enter" && !$("card").hidden && document.activeElement?.tagName !== "BUTTON") begin();
});

function sit() {
  begun = true;
  $("card").hidden = true;
  $("panel").hidden = false;
  panel.said(said);
  document.activeElement?.blur();
}

function press({ key, shift, char, at }) {
  if (begun && connection.state === "live") connection.send({ kind: "press", key, shift: !!shift, char: char ?? "", at });
}

// tools are what is not of the aircraft: sound, the keys, and the end.
function tools() {
  const bar = element("span", "tools");
  if (hello.level) {
    for (const [up, sign, name] of [[false, "−", "softer"], [true, "+", "louder"]]) {
      const b = element("button", "", "Sound " + sign);
      b.type = "button";
      b.setAttribute("aria-label", "Sound " + sign + ", " + name);
      b.addEventListener("click", () => connection.send({ kind: "level", up }));
      bar.append(b);
    }
  }
  const end = element("button", "", "End");
  end.type = "button";
  end.addEventListener("click", () => $("leave").showModal());
  bar.append(end);
  const quiet = element("span", "mark", "SILENT");
  quiet.id = "quiet";
  quiet.hidden = true;
  panel.headBar.prepend(element("span", "title", hello.title));
  panel.time.before(quiet, bar);
}
addEventListener("keydown", (event) => {
  if (begun && (event.code === "PageUp" || event.code === "PageDown")) {
    event.preventDefault();
    if (!event.repeat) connection.send({ kind: "level", up: event.code === "PageUp" });
  }
});
$("leave").addEventListener("close", () => {
  if ($("leave").returnValue === "leave") connection.send({ kind: "leave" });
  $("leave").returnValue = "";
});

function silent(is) {
  const mark = $("quiet");
  if (mark) mark.hidden = !is;
}

function keysGiven(toCockpit) {
  notice(toCockpit ? "The keys belong to the cockpit again." : "The keys belong to the page: Tab goes through it. F6 gives them back to the cockpit.", toCockpit ? 2000 : 0);
}

let forget = 0;
let standing = "";
function notice(text, ms = 0) {
  clearTimeout(forget);
  if (!ms) standing = text;
  $("notice").textContent = text;
  if (ms) forget = setTimeout(() => { $("notice").textContent = standing; }, ms);
}

function report(lines) {
  begun = false;
  const pre = $("report");
  pre.textContent = lines.join("\n");
  pre.hidden = false;
  pre.setAttribute("aria-label", "Report");
  for (const e of document.querySelectorAll("#card > table, #card > p:not(.caution), #begin")) e.hidden = true;
  $("state").hidden = false;
  $("state").textContent = "The sitting has ended. This report is kept: hornlark debrief shows it again.";
  $("card").hidden = false;
  $("panel").hidden = true;
}

function state(now, why) {
  const line = $("link");
  const told = {
    joining: "Connecting.",
    live: "",
    silent: "Nothing arrives from the sitting: what stood here is not alive, and has been taken away.",
    lost: "Not connected. Trying again; what stood here is not alive, and has been taken away.",
    over: why ? "Not connected: " + why + "." : "Not connected.",
  }[now];
  line.textContent = told;
  line.hidden = told === "" || !$("report").hidden || now === "over" && sheet !== null && sheet.sheet.offers.length === 0; // whoever reads the report needs no sitting any more
  line.classList.toggle("bad", ["silent", "lost", "over"].includes(now));
  if (now !== "live" && panel) panel.blank("");
}
