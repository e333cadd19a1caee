// A sheet: what is to be read between sittings, and what can be chosen then.

import { element } from "./panel.js";

// Keys of offers that no letter names. A digit or letter is typed on the trainee's own keyboard.
const named = { enter: "Enter", "+": "+", "-": "-" };

// Sheet draws a sheet into root, and calls choose(key, answer) once.
export class Sheet {
  constructor(root, sheet, choose) {
    this.sheet = sheet;
    this.choose = choose;
    this.done = false;
    const parts = [element("h2", "", sheet.title)];
    if (sheet.caution) parts.push(element("p", "caution", sheet.caution));
    for (const notice of sheet.notices) parts.push(element("p", "told", notice));
    if (sheet.sound) {
      this.sound = element("p", "checked", sheet.sound);
      this.sound.setAttribute("role", "status");
      parts.push(this.sound);
    }
    if (sheet.who) parts.push(element("p", "who", sheet.who));
    for (const text of sheet.text) parts.push(element("p", "", text));
    if (sheet.lines.length) {
      const lines = element("pre", "", sheet.lines.join("\n"));
      lines.tabIndex = 0;
      lines.setAttribute("role", "region");
      lines.setAttribute("aria-label", sheet.title);
      parts.push(lines);
    }
    const offers = element("div", "offers");
    const small = element("div", "small offers");
    this.buttons = new Map();
    for (const offer of sheet.offers) {
      if (offer.key === sheet.asking) continue; // its question stands there already
      const b = element("button", "", offer.text);
      b.type = "button";
      const key = named[offer.key] ?? (offer.key.length === 1 ? offer.key : "");
      if (key) b.append(" ", element("kbd", "", key));
      b.addEventListener("click", () => this.take(offer));
      this.buttons.set(offer.key, b);
      (offer.small ? small : offers).append(b);
    }
    this.asked = element("div", "asked");
    parts.push(this.asked, offers, small);
    root.replaceChildren(...parts);
    const asking = sheet.offers.find((o) => o.key === sheet.asking);
    if (asking) this.ask(asking, sheet.trouble);
    else this.buttons.get("enter")?.focus();
  }

  take(offer) {
    if (this.done) return;
    if (offer.ask) return this.ask(offer, "");
    this.pick(offer.key, "");
  }

  pick(key, answer) {
    this.done = true;
    for (const b of this.buttons.values()) b.disabled = true;
    this.choose(key, answer);
  }

  // heard says what the sound check has found.
  heard(text) {
    if (this.sound) this.sound.textContent = text;
  }

  // ask opens the question of an offer.
  ask(offer, trouble) {
    const { prompt, hint, given, known, day } = offer.ask;
    const form = element("form");
    const label = element("label", "", prompt);
    const input = element("input");
    input.id = "answer";
    input.value = given;
    input.type = day ? "date" : "text";
    input.autocomplete = "off";
    input.maxLength = 200;
    input.setAttribute("aria-describedby", "hint");
    label.htmlFor = "answer";
    const about = element("p", trouble ? "wrong" : "", trouble || hint);
    about.id = "hint";
    if (trouble) about.setAttribute("role", "alert");
    const row = element("p", "row", input);
    if (known?.length) {
      const list = element("datalist");
      list.id = "known";
      list.append(...known.map((name) => Object.assign(element("option"), { value: name })));
      input.setAttribute("list", "known");
      row.append(list);
    }
    const take = element("button", "", "Take it ");
    take.append(element("kbd", "", "Enter"));
    row.append(take);
    form.append(label, row, about);
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      if (!this.done) this.pick(offer.key, input.value);
    });
    this.asked.replaceChildren(form);
    input.focus();
  }

  // key takes a key that was pressed where nothing is typed.
  key(event) {
    if (event.key === "Escape" && !this.sheet.asking && this.asked.hasChildNodes()) { // not asked after all
      this.asked.replaceChildren();
      this.buttons.get("enter")?.focus();
      return;
    }
    if (this.done || event.repeat || event.ctrlKey || event.altKey || event.metaKey || event.target.tagName === "INPUT") return;
    if (event.key === "Enter" && event.target.tagName === "BUTTON") return; // it is pressed by that
    const key = event.key === "Enter" ? "enter" : event.key === "=" ? "+" : event.key.toLowerCase();
    const offer = this.sheet.offers.find((o) => o.key === key);
    if (!offer) return;
    event.preventDefault();
    this.take(offer);
  }
}
