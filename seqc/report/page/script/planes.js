/* The machine while it works: for each grid what the selectors offer, what waits above each gate, and
   what is seen, one below the other or, where that is larger on the screen, side by side. Items go
   from plane to plane as they roll: from rest. */
class Planes {
  static GAP = 1.1;
  static HEAD = 0.9;
  static TALLEST = 544;

  constructor(svg, model) {
    this.svg = svg;
    this.model = model;
    this.sideways = null;
    this.fit();
  }

  /* Where the planes of each grid begin, how far it is from one to the next, and the whole's size. */
  static layout(model, sideways) {
    const gap = Planes.GAP, at = [];
    let along = 0, across = 0;
    for (const { rows, columns, places } of model.grids) {
      const wide = Math.max(columns, 2);
      at.push(sideways
        ? { x: 0.2, y: Planes.HEAD + along, dx: wide + gap, dy: 0 }
        : { x: 0.2 + along, y: Planes.HEAD, dx: 0, dy: rows + gap });
      across = Math.max(across, (places.length + 1) * ((sideways ? wide : rows) + gap));
      along += (sideways ? rows : wide) + gap;
    }
    return sideways
      ? { at, width: across - gap + 0.4, height: Planes.HEAD + along - gap + 0.3 }
      : { at, width: along - gap + 0.4, height: Planes.HEAD + across - gap + 0.3 };
  }

  /* Lay the planes out so that they are as large as can be; true where that changes anything. */
  fit() {
    const room = this.svg.parentElement.clientWidth || 320;
    const tallest = parseFloat(getComputedStyle(this.svg).maxHeight) || Planes.TALLEST;
    const scale = ({ width, height }) => Math.min(room / width, tallest / height);
    const below = Planes.layout(this.model, false), beside = Planes.layout(this.model, true);
    const sideways = scale(beside) > scale(below) * 1.05;
    const chosen = sideways ? beside : below;
    const isNew = sideways !== this.sideways;
    if (isNew) this.build(sideways, chosen);
    this.svg.style.setProperty("--name-size", `${short(12 / scale(chosen))}px`);
    return isNew;
  }

  build(sideways, { at, width, height }) {
    const { svg, model } = this;
    this.sideways = sideways;
    this.at = at;
    svg.replaceChildren();
    svg.setAttribute("viewBox", `0 0 ${short(width)} ${short(height)}`);
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
        const squares = grid.cells.map(
          ([row, column]) => `M${short(x + column - 1)} ${short(y + row - 1)}h1v1h-1z`,
        );
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
    const { x, y, dx, dy } = this.at[grid];
    return { x: x + place * dx, y: y + place * dy };
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
      const [fromX, fromY] = this.spot(grid, flight.place - 1, cell);
      const [toX, toY] = this.spot(grid, flight.place, cell);
      const gone = share * share;
      push(flying, flight.kinds[rank], [fromX + (toX - fromX) * gone, fromY + (toY - fromY) * gone]);
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
