/* The timing chart of a stretch of a scene, after the time sequence diagrams of IEC 61082-1. Drawn as
   timing.py draws it for paper: outputs as bars, the coil above (forward) and below (reverse) its
   line, the part low at rest and high when thrown, grey bands for how much sooner or later an end may
   come, items on their way, and each supply's current under its limit. */
class Chart {
  static ROW = 48;
  static GAP = 4;
  static TOP = 30;

  constructor(svg, model, jump) {
    this.svg = svg;
    this.model = model;
    svg.addEventListener("pointerdown", (event) => {
      const box = svg.getBoundingClientRect();
      const x = (event.clientX - box.left) * (this.width / box.width);
      if (x >= this.left) jump(this.from + ((x - this.left) / this.room) * (this.to - this.from));
    });
  }

  x(time) {
    const at = this.left + (this.room * (time - this.from)) / (this.to - this.from);
    return Math.min(this.width - 8, Math.max(this.left, at));
  }

  draw(scene, from, to, all) {
    this.scene = scene;
    [this.from, this.to] = [from, to];
    this.width = Math.max(320, this.svg.parentElement.clientWidth);
    this.left = this.width < 600 ? 74 : 116;
    this.room = this.width - this.left - 8;
    this.tracks = scene.spans(from, to);
    this.svg.replaceChildren();
    this.axis = draw(this.svg, "g");
    this.y = Chart.TOP;
    this.causes();
    this.shared();
    this.model.actuators.forEach((actuator, number) => {
      if (all || this.isBusy(number)) this.actuator(actuator, number);
    });
    this.ways();
    this.model.supplies.forEach((supply, number) => this.supply(supply, number));
    this.ticks();
    this.cursor = draw(this.svg, "path", { class: "cursor" });
    change(this.svg, "viewBox", `0 0 ${this.width} ${this.y}`);
    change(this.svg, "width", this.width);
    change(this.svg, "height", this.y);
    const ms = `${spoken(from)} to ${spoken(to)}`;
    change(this.svg, "aria-label", `timing chart, ${ms}; the same is listed below`);
  }

  within(spans) {
    return (spans ?? []).filter((span) => span.to > this.from && span.from < this.to);
  }

  isBusy(number) {
    const { coils, parts } = this.tracks;
    return this.within(coils.get(number)).length + this.within(parts.get(number)).length > 0;
  }

  row(name, high) {
    draw(this.svg, "rect", { class: "row", x: this.left, y: this.y, width: this.room, height: high });
    const room = Math.floor((this.left - 8) / 6.6);
    const words = name.length > room ? `…${name.slice(1 - room)}` : name;
    draw(this.svg, "text", { class: "small end", x: this.left - 8, y: this.y + high / 2 + 4 }, words);
  }

  bar(span, kind, y, high, data = {}) {
    const left = this.x(span.from), right = this.x(span.to);
    const width = short(Math.max(0.5, right - left));
    const named = { "data-from": span.from, "data-to": span.to, ...data };
    return draw(this.svg, "rect", { class: kind, x: short(left), y, width, height: high, ...named });
  }

  causes() {
    const links = this.scene.entry.causes.filter(([from, to]) => to > this.from && from < this.to);
    if (!links.length) return;
    this.row("critical path", 30);
    let even = false;
    for (const [from, to, cause, task] of links) {
      const bar = this.bar({ from, to }, even ? "cause" : "cause other", this.y + 3, 8);
      draw(bar, "title", {}, `${cause}, ${spoken(to - from)}, until ${task}`);
      const room = this.x(to) - this.x(from);
      if (room > 6.2 * cause.length) {
        draw(this.svg, "text", { class: "small", x: short(this.x(from) + 2), y: this.y + 24 }, cause);
      }
      even = !even;
    }
    this.y += 30 + Chart.GAP;
  }

  shared() {
    for (const [output, name] of this.model.shared) {
      if (!this.within(this.tracks.outputs.get(output)).length) continue;
      this.row(name, 16);
      this.output(output, this.y + 5, 6);
      this.y += 16 + Chart.GAP;
    }
  }

  output(output, y, high) {
    for (const span of this.within(this.tracks.outputs.get(output))) {
      this.bar(span, "output", short(y), short(high), { "data-output": output });
    }
  }

  actuator(actuator, number) {
    this.row(actuator.name, Chart.ROW);
    const { coils } = this.tracks, pitch = 10 / actuator.outputs.length;
    actuator.outputs.forEach((output, rank) => this.output(output, this.y + 2 + rank * pitch, pitch - 1));
    this.part(actuator, number);
    const middle = this.y + 19;
    draw(this.svg, "path", { class: "axis strong", d: `M${this.left} ${middle}h${this.room}` });
    for (const span of this.within(coils.get(number))) {
      const forward = span.value > 0;
      const y = forward ? middle - 7 : middle;
      this.bar(span, forward ? "forward" : "reverse", y, 7, { "data-coil": number });
    }
    this.y += Chart.ROW + Chart.GAP;
  }

  part(actuator, number) {
    const low = this.y + Chart.ROW - 3, high = this.y + 30;
    const level = (at) => (at === "t" ? high : at === "r" ? low : (low + high) / 2);
    let y = level(this.tracks.thrown.get(number));
    let opened = y === high ? this.from : null;
    const points = [[this.from, y]];
    const isGate = actuator.level !== null;
    for (const span of this.tracks.parts.get(number) ?? []) {
      const target = span.value > 0 ? high : low;
      if (isGate && span.value < 0 && opened !== null) {
        this.bar({ from: opened, to: span.from }, "open", high, low - high);
      }
      this.band(span.to, actuator.settled, high, low - high);
      points.push([span.from, y], [span.to, target]);
      y = target;
      opened = span.value > 0 ? span.to : null;
    }
    if (isGate && opened !== null) this.bar({ from: opened, to: this.to }, "open", high, low - high);
    points.push([this.to, y]);
    const way = this.clipped(points).map(([at, up]) => `${short(this.x(at))} ${short(up)}`);
    draw(this.svg, "path", { class: "part", d: `M${way.join("L")}`, "data-part": number });
  }

  /* Points within the stretch; a line that crosses its start or end is cut there. */
  clipped(points) {
    const found = [];
    points.forEach(([at, y], n) => {
      const before = points[n - 1];
      for (const edge of [this.from, this.to]) {
        if (before && before[0] < edge && at > edge) {
          found.push([edge, before[1] + ((y - before[1]) * (edge - before[0])) / (at - before[0])]);
        }
      }
      if (at >= this.from && at <= this.to) found.push([at, y]);
    });
    return found;
  }

  band(at, [early, late], y, high) {
    if (early + late > 0 && at + late > this.from && at - early < this.to) {
      const band = this.bar({ from: at - early, to: at + late }, "band", y, high);
      draw(band, "title", {}, `${spoken(early)} sooner to ${spoken(late)} later`);
    }
  }

  ways() {
    const flights = this.within(this.tracks.flights);
    const keys = [...new Set(flights.map(({ grid, place }) => `${grid} ${place}`))].sort();
    for (const key of keys) {
      const [grid, place] = key.split(" ").map(Number);
      const shape = this.model.grids[grid];
      const many = this.model.grids.length > 1 ? `${shape.name} ` : "";
      this.row(many + shape.ways[place - 1], 26);
      for (const flight of flights.filter((one) => one.grid === grid && one.place === place)) {
        const ends = [[flight.from, this.y + 5], [flight.to, this.y + 21]];
        const way = this.clipped(ends).map(([at, up]) => `${short(this.x(at))} ${short(up)}`);
        const line = draw(this.svg, "path", { class: "flight", d: `M${way.join("L")}` });
        draw(line, "title", {}, `${flight.cells.length} items, ${spoken(flight.to - flight.from)}`);
        this.band(flight.to, shape.bands[place - 1], this.y + 3, 20);
      }
      this.y += 26 + Chart.GAP;
    }
  }

  supply(supply, number) {
    const high = 64, steps = this.drawn(supply, number);
    const most = Math.max(supply.usable, ...steps.map(([, ua]) => ua)) * 1.18 || 1;
    const level = (ua) => short(this.y + high - ((high - 4) * ua) / most);
    this.row(supply.name, high);
    const floor = this.y + high;
    const way = steps.map(([at, ua]) => `H${short(this.x(at))}V${level(ua)}`);
    const ground = `H${this.left + this.room}V${floor}z`;
    draw(this.svg, "path", { class: "current", d: `M${this.left} ${floor}${way.join("")}${ground}` });
    draw(this.svg, "path", { class: "limit", d: `M${this.left} ${level(supply.usable)}h${this.room}` });
    const words = `limit ${(supply.usable / 1e6).toFixed(2)} A`;
    draw(this.svg, "text", { class: "small end", x: this.width - 12, y: level(supply.usable) - 4 }, words);
    this.y += high + Chart.GAP;
  }

  /* What a supply gives from each instant on. */
  drawn(supply, number) {
    const changes = new Map([[this.from, 0]]);
    const add = (spans, ua) => {
      for (const span of this.within(spans)) {
        const from = Math.max(span.from, this.from);
        changes.set(from, (changes.get(from) ?? 0) + ua);
        changes.set(span.to, (changes.get(span.to) ?? 0) - ua);
      }
    };
    this.model.actuators.forEach((actuator, n) => {
      if (actuator.supply === number) add(this.tracks.coils.get(n), actuator.draws);
    });
    for (const [output, ua] of supply.relays) add(this.tracks.outputs.get(output), ua);
    let drawn = supply.always;
    return [...changes].sort(([a], [b]) => a - b).map(([at, ua]) => [at, (drawn += ua)]);
  }

  ticks() {
    const length = this.to - this.from;
    const most = this.width < 600 ? 6 : 12;
    const steps = [1, 2, 5].flatMap((n) => [3, 4, 5, 6, 7, 8, 9].map((power) => n * 10 ** power));
    const step = steps.sort((a, b) => a - b).find((one) => length / one <= most) ?? length;
    const zero = this.scene.starts[this.scene.runAt(this.from)];
    for (let at = Math.ceil((this.from - zero) / step) * step; at + zero <= this.to; at += step) {
      const x = short(this.x(at + zero));
      if (x > this.width - 22 && at + zero < this.to) continue;
      draw(this.axis, "path", { class: "axis", d: `M${x} ${Chart.TOP - 6}V${this.y}` });
      const anchor = x > this.width - 22 ? "end" : "middle";
      draw(this.axis, "text", { class: `small faint ${anchor}`, x, y: Chart.TOP - 12 }, String(at / 1000));
    }
    draw(this.axis, "text", { class: "small faint end", x: this.left - 8, y: Chart.TOP - 12 }, "ms");
  }

  at(time) {
    const x = short(this.x(time));
    change(this.cursor, "d", `M${x} ${Chart.TOP - 8}V${this.y}`);
  }
}

/* Everything that a chart draws, as lines of words. */
function chartWords(chart) {
  const lines = [];
  const zero = chart.scene.starts[chart.scene.runAt(chart.from)];
  const say = (at, words) => { if (at >= chart.from && at < chart.to) lines.push([at, words]); };
  const { coils, parts, flights } = chart.tracks;
  const name = (number) => chart.model.actuators[number].name;
  for (const [number, spans] of coils) {
    for (const { from, to, value } of spans) {
      say(from, `${name(number)}: coil ${value > 0 ? "forward" : "reverse"} for ${spoken(to - from)}`);
    }
  }
  for (const [number, spans] of parts) {
    for (const { to, value } of spans) say(to, `${name(number)}: settled ${value > 0 ? "thrown" : "at rest"}`);
  }
  for (const { grid, place, from, to, cells } of flights) {
    const way = chart.model.grids[grid].ways[place - 1];
    say(from, `${cells.length} items set out, ${way}`);
    say(to, `${cells.length} items arrive, ${way}`);
  }
  return lines.sort(([a], [b]) => a - b).map(([at, words]) => [spoken(at - zero), words]);
}
