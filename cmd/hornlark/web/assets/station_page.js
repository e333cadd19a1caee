// The page of one station: it enters, and hands on what it is told.
import { Link } from "./link.js";
import { Station } from "./station.js";

const gate = document.getElementById("gate");
const root = document.getElementById("station");
const code = document.getElementById("code");
const why = document.getElementById("gate-why");

const station = new Station(root, { send: (m) => link.send(m), again: () => link.connect() });

const link = new Link({
  message: (m) => {
    gate.hidden = true;
    root.hidden = false;
    station.take(m);
  },
  state: (text, ok, final) => station.connection(text, ok, final),
  enter: (wrong) => {
    gate.hidden = false;
    root.hidden = true;
    why.textContent = wrong && wrong.charAt(0).toUpperCase() + wrong.slice(1) + ".";
    why.className = "answer refused";
    code.select();
    code.focus();
  },
});

gate.addEventListener("submit", async (event) => {
  event.preventDefault();
  why.textContent = "";
  if (await link.enter(code.value)) code.value = "";
});

link.start();
