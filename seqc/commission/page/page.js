"use strict";

const at = (id) => document.getElementById(id);
const KEYS = { h: "home", a: "again", n: "next", o: "ok", b: "bad", s: "suspects", t: "tune", p: "parts" };
const UNKNOWN = "?";

let machine = null;
let now = null;
let step = 0;
let playedSince = 0;
let playing = null;

function made(name, text, attributes = {}) {
  const element = document.createElement(name);
  element.textContent = text;
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  return element;
}

function say(text) {
  const log = at("log");
  log.textContent += text + "\n";
  log.scrollTop = log.scrollHeight;
}

async function call(path, body) {
  try {
    const answer = await fetch(path, { method: "POST", body });
    say(await answer.text());
  } catch {
    say("the program doesn't answer; a controller whose line is silent stops by itself");
  }
}

const order = (text) => call("do", text);
const stop = () => call("stop", "");

function listed(title, lines) {
  const part = document.createDocumentFragment();
  if (!lines.length) return part;
  part.append(made("h3", title));
  const list = made("ul", "");
  for (const line of lines) list.append(made("li", line));
  part.append(list);
  return part;
}

function showStep(number) {
  step = number;
  const found = machine.steps[step];
  for (const [n, button] of [...document.querySelectorAll("#steps button")].entries()) {
    button.setAttribute("aria-current", String(n === step));
  }
  at("guide").replaceChildren(
    listed("Do", found.do), listed("Watch", found.watch), listed("If it isn't so", found.wrong));
  at("tables").replaceChildren(...found.tables.map((table) => {
    const button = made("button", `${table.name} (${(table.ms / 1000).toFixed(1)} s)`, { type: "button" });
    button.dataset.name = table.name;
    button.dataset.parts = table.parts.join(" ");
    button.addEventListener("click", () => order(`play ${table.name}`));
    return button;
  }));
  showJudged();
}

function showJudged() {
  for (const button of document.querySelectorAll("#tables button")) {
    const right = now ? now.judged[button.dataset.name] : undefined;
    if (right === undefined) delete button.dataset.right; else button.dataset.right = String(right);
    const parts = button.dataset.parts.split(" ").map(Number);
    button.disabled = Boolean(now && now.part && !parts.includes(now.part));
    button.title = button.disabled ? `in part ${parts.join(", ")}: flash that one` : "";
  }
}

function drawGrids() {
  at("grids").replaceChildren(...machine.grids.map((grid) => {
    const table = made("table", "", { class: "grid", "aria-label": grid.name, id: `grid-${grid.name}` });
    const rows = Array.from({ length: grid.rows }, () => Array(grid.columns).fill(null));
    grid.cells.forEach(([row, column], index) => { rows[row - 1][column - 1] = index; });
    for (const row of rows) {
      const line = made("tr", "");
      for (const index of row) {
        const cell = made("td", "");
        if (index !== null) {
          const button = made("button", UNKNOWN, { type: "button" });
          button.addEventListener("click", () => press(grid, index));
          cell.append(button);
        }
        line.append(cell);
      }
      table.append(line);
    }
    return table;
  }));
}

function press(grid, index) {
  const marked = now.marked[grid.name][index];
  const round = [...grid.kinds, null];
  const start = marked === UNKNOWN ? now.expected[grid.name][index] : marked;
  const next = marked === UNKNOWN && start !== UNKNOWN ? start : round[(round.indexOf(start) + 1) % round.length];
  const [row, column] = grid.cells[index];
  order(`mark ${grid.name} ${row} ${column} ${next === null ? "nothing" : next}`);
}

function showGrids() {
  const kinds = Object.fromEntries(machine.kinds.map((kind) => [kind.name, kind]));
  for (const grid of machine.grids) {
    const buttons = at(`grid-${grid.name}`).querySelectorAll("button");
    const order = [...grid.cells.keys()].sort((a, b) =>
      grid.cells[a][0] - grid.cells[b][0] || grid.cells[a][1] - grid.cells[b][1]);
    order.forEach((index, place) => {
      const button = buttons[place];
      const expected = now.expected[grid.name][index];
      const marked = now.marked[grid.name][index];
      const shown = marked === UNKNOWN ? expected : marked;
      const kind = kinds[shown];
      button.textContent = shown === null ? "_" : kind ? kind.sign : UNKNOWN;
      button.className = kind && kind.tone ? `tone-${kind.tone}` : "";
      if (marked !== UNKNOWN) button.classList.add(marked === expected ? "right" : "wrong");
      const words = shown === null ? "nothing" : shown === UNKNOWN ? "not known" : shown;
      button.setAttribute("aria-label", `row ${grid.cells[index][0]} column ${grid.cells[index][1]}: ${words}`);
    });
  }
}

function animate() {
  if (now && now.playing) {
    const ms = performance.now() - playedSince;
    const table = machine.steps.flatMap((one) => one.tables).find((one) => one.name === now.playing);
    at("progress").value = table ? Math.min(1, ms / table.ms) : 0;
    const states = { ...now.positions };
    for (const [due, name, state] of now.motions) if (due <= ms) states[name] = state;
    showParts(states);
  } else if (now) {
    at("progress").value = 0;
    showParts(now.positions);
  }
  setTimeout(animate, 50);
}

function showParts(states) {
  for (const item of at("actuators").children) {
    const state = states[item.dataset.name];
    item.textContent = `${item.dataset.name} ${state === UNKNOWN ? "not known" : state}`;
    item.className = state === "moving" ? "moving" : "";
  }
}

function take(text) {
  now = JSON.parse(text);
  if (now.playing !== playing) {
    playing = now.playing;
    playedSince = performance.now();
  }
  const words = [now.state, now.playing ? now.playing : now.last ? `last: ${now.last}` : ""];
  if (now.lost) words.push(now.lost);
  if (now.partCount > 1 && now.part) words.push(`part ${now.part} of ${now.partCount}`);
  if (now.garbage) words.push(`${now.garbage} lines made no sense`);
  at("state").textContent = words.filter(Boolean).join("; ");
  showGrids();
  showJudged();
}

function pressed(event) {
  if (event.target.id === "typed" && event.key !== "Escape") return;
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  if ([" ", "Escape", "!"].includes(event.key)) {
    event.preventDefault();
    stop();
  } else if (/^[1-9]$/.test(event.key)) {
    const button = document.querySelectorAll("#tables button")[Number(event.key) - 1];
    if (button) button.click();
  } else if (KEYS[event.key]) {
    order(KEYS[event.key]);
  }
}

async function begin() {
  machine = await (await fetch("machine.json")).json();
  at("machine").textContent = `Commissioning ${machine.machine}`;
  document.title = `Commissioning ${machine.machine}`;
  at("cautions").querySelector("ul").replaceChildren(...machine.cautions.map((line) => made("li", line)));
  at("steps").replaceChildren(...machine.steps.map((one, number) => {
    const item = made("li", "");
    const button = made("button", one.title, { type: "button" });
    button.addEventListener("click", () => showStep(number));
    item.append(button);
    return item;
  }));
  at("actuators").replaceChildren(...machine.actuators.map((name) => {
    const item = made("li", name);
    item.dataset.name = name;
    return item;
  }));
  drawGrids();
  showStep(0);
  const events = new EventSource("events");
  events.addEventListener("now", (event) => take(event.data));
  events.addEventListener("said", (event) => say(event.data));
  events.onerror = () => { at("state").textContent = "the program doesn't answer"; };
  animate();
}

document.addEventListener("keydown", pressed);
at("stop").addEventListener("click", stop);
for (const button of document.querySelectorAll("[data-order]")) {
  button.addEventListener("click", () => order(button.dataset.order));
}
at("order").addEventListener("submit", (event) => {
  event.preventDefault();
  const typed = at("typed");
  if (typed.value.trim()) order(typed.value);
  typed.value = "";
});
begin();
