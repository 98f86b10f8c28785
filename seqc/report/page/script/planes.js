/* The machine while it works: for each grid, one above the other, what the selectors offer, what
   waits above each gate, and what is seen. Items fall from plane to plane as they roll: from rest. */
class Planes {
  static GAP = 1.1;

  constructor(svg, model) {
    this.svg = svg;
    this.model = model;
    svg.replaceChildren();
    const gap = Planes.GAP;
    this.at = [];
    let x = 0.2, deepest = 0;
    for (const grid of model.grids) {
      const wide = Math.max(grid.columns, 2);
      this.at.push({ x, step: grid.rows + gap });
      deepest = Math.max(deepest, (grid.places.length + 1) * (grid.rows + gap));
      x += wide + gap * 0.7;
    }
    this.width = x - gap * 0.7 + 0.2;
    this.height = deepest + 0.3;
    svg.setAttribute("viewBox", `0 0 ${short(this.width)} ${short(this.height)}`);
    this.ground();
    this.offered = model.kinds.map((kind) => this.layer(kind, 0.55));
    this.held = model.kinds.map((kind) => this.layer(kind));
    this.shut = draw(svg, "path", { class: "gate shut" });
    this.open = draw(svg, "path", { class: "gate open-gate" });
    this.flying = model.kinds.map((kind) => this.layer(kind, 0.8));
  }

  ground() {
    this.model.grids.forEach((grid, number) => {
      for (let place = 0; place <= grid.places.length; place++) {
        const { x, y } = this.origin(number, place);
        const words = place ? grid.places[place - 1] : "offered";
        const beside = this.model.grids[number - 1]?.places[place - 1] ?? (number ? "offered" : null);
        if (words !== beside) {
          draw(this.svg, "text", { class: "plane-name", x: short(x), y: short(y - 0.2) }, words);
        }
        const squares = grid.cells.map(([row, column]) => `M${x + column - 1} ${short(y + row - 1)}h1v1h-1z`);
        draw(this.svg, "path", { class: "board", d: squares.join("") });
        if (place === grid.shown) {
          const frame = { x: short(x - 0.09), y: short(y - 0.09), rx: 0.12 };
          const size = { width: grid.columns + 0.18, height: grid.rows + 0.18 };
          draw(this.svg, "rect", { class: "seen", ...frame, ...size });
        }
      }
    });
  }

  layer(kind, scale = 1) {
    const group = draw(this.svg, "g", { "data-kind": kind.letter });
    return {
      kind,
      rim: draw(group, "path", { class: "rim", "stroke-width": 0.84 * scale }),
      item: draw(group, "path", { class: `item ${kind.tone}`, "stroke-width": 0.76 * scale }),
      mark: draw(group, "path", { class: "mark", "stroke-width": kind.markWidth * scale }),
    };
  }

  origin(grid, place) {
    const { x, step } = this.at[grid];
    return { x, y: 0.9 + place * step };
  }

  spot(grid, place, cell) {
    const [row, column] = this.model.grids[grid].cells[cell];
    const { x, y } = this.origin(grid, place);
    return [x + column - 0.5, y + row - 0.5];
  }

  show(scene, state) {
    const held = new Map(), offered = new Map(), flying = new Map();
    const gates = { shut: [], open: [] };
    this.model.grids.forEach((grid, number) => {
      grid.cells.forEach((_, cell) => {
        push(offered, scene.offered(state, number, cell), this.spot(number, 0, cell));
        state.places[number].forEach((row, rank) => {
          if (row[cell] !== ".") push(held, row[cell], this.spot(number, rank + 1, cell));
        });
      });
      for (const flight of state.flights[number]) this.fly(flying, number, flight, scene, state);
    });
    this.model.actuators.forEach((actuator, n) => {
      if (actuator.level !== null) this.gate(gates, actuator, state.parts[n]);
    });
    this.paint(this.offered, offered);
    this.paint(this.held, held);
    this.paint(this.flying, flying);
    change(this.shut, "d", gates.shut.join("") || "M0 0");
    change(this.open, "d", gates.open.join("") || "M0 0");
  }

  fly(flying, grid, flight, scene, state) {
    const into = state.time - scene.starts[state.run];
    const share = Math.min(1, Math.max(0, (into - flight.start) / Math.max(1, flight.due - flight.start)));
    flight.cells.forEach((cell, rank) => {
      const [x, from] = this.spot(grid, flight.place - 1, cell);
      const [, to] = this.spot(grid, flight.place, cell);
      push(flying, flight.kinds[rank], [x, from + (to - from) * share * share]);
    });
  }

  gate(gates, actuator, part) {
    const thrown = part.at === "t";
    for (const cell of actuator.cells) {
      const [x, y] = this.spot(actuator.grid, actuator.level, cell);
      const left = short(x - 0.42), low = short(y + 0.5);
      if (part.moving) gates.open.push(`M${left} ${low}h.84`);
      else if (thrown) gates.open.push(`M${left} ${low}l.12.2m.6 0l.12-.2`);
      else gates.shut.push(`M${left} ${low}h.84`);
    }
  }

  paint(layers, spots) {
    for (const { kind, rim, item, mark } of layers) {
      const own = spots.get(kind.letter) ?? [];
      const at = own.map(([x, y]) => `M${short(x)} ${short(y)}`);
      const discs = at.map((place) => `${place}h0`).join("") || "M-9-9";
      change(rim, "d", discs);
      change(item, "d", discs);
      change(mark, "d", kind.mark ? at.map((place) => place + kind.mark).join("") : "M-9-9");
    }
  }

  /* Names of planes keep their size on the screen. */
  fit() {
    const { clientWidth, clientHeight } = this.svg;
    const scale = Math.min(clientWidth / this.width, clientHeight / this.height) || 1;
    this.svg.style.setProperty("--name-size", `${short(12 / scale)}px`);
  }
}

/* What is seen of a grid, in words for those who can't see it: a name for each cell, row by row. */
function seenWords(model, state, grid) {
  const shape = model.grids[grid];
  const names = new Map(model.kinds.map((kind) => [kind.letter, kind.name]));
  const rows = new Map();
  shape.cells.forEach(([row], cell) => {
    const letter = state.places[grid][shape.shown - 1][cell];
    push(rows, row, names.get(letter) ?? (letter === "." ? "nothing" : "not known"));
  });
  return [...rows].map(([row, words]) => `row ${row}: ${words.join(", ")}`);
}
