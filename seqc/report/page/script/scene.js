/* What every part does at any time of a scene. The other side of packing.py, which has the layout. */
const OUTPUT = 0, COIL = 1, POSITION = 2, FLIGHT = 3, ITEM = 4;

class Scene {
  constructor(model, entry, block) {
    this.model = model;
    this.entry = entry;
    this.block = block;
    const lengths = [];
    for (const [length, times] of block.lengths) {
      for (let n = 0; n < times; n++) lengths.push(length);
    }
    this.runs = entry.last - entry.first + 1;
    this.starts = new Float64Array(this.runs + 1);
    for (let n = 0; n < this.runs; n++) {
      this.starts[n + 1] = this.starts[n] + lengths[entry.first + n];
    }
  }

  get length() {
    return this.starts[this.runs];
  }

  /* The run that plays at a time. */
  runAt(time) {
    let low = 0, high = this.runs - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (this.starts[middle] <= time) low = middle;
      else high = middle - 1;
    }
    return low;
  }

  title(run) {
    return this.block.titles[this.entry.first + run];
  }

  plan(run) {
    const { plans, loads } = this.block;
    const number = loads ? loads[this.entry.first + run] : null;
    return number === null || number === undefined ? null : plans[number];
  }

  electric(run) {
    return this.block.electric[this.block.runs[0][this.entry.first + run]];
  }

  grid(run, grid) {
    return this.block.grids[grid][this.block.runs[grid + 1][this.entry.first + run]];
  }

  /* The state at a time, all that happens at that very time included. */
  stateAt(time) {
    const run = this.runAt(time);
    const into = time - this.starts[run];
    const state = { run, time, outputs: new Set(), coils: new Map(), parts: [], places: [], flights: [] };
    const [outputs, coils, events] = this.electric(run);
    outputs.forEach((output) => state.outputs.add(output));
    coils.forEach(([actuator, polarity]) => state.coils.set(actuator, polarity));
    for (const [at, code, number, value] of events) {
      if (at > into) break;
      if (code === OUTPUT) value ? state.outputs.add(number) : state.outputs.delete(number);
      else value ? state.coils.set(number, value) : state.coils.delete(number);
    }
    this.model.grids.forEach((_, grid) => this.gridAt(state, run, grid, into));
    return state;
  }

  gridAt(state, run, grid, into) {
    const [letters, moving, places, flights, events] = this.grid(run, grid);
    const own = this.model.actuators.map((a, n) => [a, n]).filter(([a]) => a.grid === grid);
    own.forEach(([, n], rank) => { state.parts[n] = { at: letters[rank], moving: null }; });
    for (const [number, due] of moving) this.begin(state, number, due, into);
    const held = places.map((row) => [...row]);
    const flying = flights.map(([due, place, cells, kinds]) => this.flight(grid, due, place, cells, kinds));
    for (const event of events) {
      if (event[0] > into) break;
      this.apply(state, grid, held, flying, event, into);
    }
    state.places[grid] = held;
    state.flights[grid] = flying.filter((one) => one.due > into);
  }

  apply(state, grid, held, flying, [at, code, subject, detail, kinds], into) {
    if (code === POSITION) {
      const part = state.parts[subject];
      part.at = detail.toLowerCase();
      part.moving = null;
      if (detail === "R" || detail === "T") {
        this.begin(state, subject, at + this.model.actuators[subject].settles, into);
      }
    } else if (code === FLIGHT) {
      const fall = this.model.grids[grid].falls[subject - 1] ?? 0;
      flying.push(this.flight(grid, at + fall, subject, detail, kinds));
    } else if (code === ITEM) {
      detail.forEach((cell, rank) => { held[subject - 1][cell] = kinds[rank]; });
    }
  }

  begin(state, number, due, into) {
    const start = due - this.model.actuators[number].settles;
    if (due > into) state.parts[number].moving = { start, due, share: (into - start) / (due - start) };
  }

  flight(grid, due, place, cells, kinds) {
    const fall = this.model.grids[grid].falls[place - 1] ?? 0;
    return { start: due - fall, due, place, cells, kinds };
  }

  /* The kind that the selectors of a cell offer, or "?" where a position isn't known. */
  offered(state, grid, cell) {
    const { feeds, fed } = this.model.grids[grid];
    let feed = feeds[fed[cell]];
    while (Array.isArray(feed)) {
      const { at } = state.parts[feed[0][cell]];
      if (at === "?") return "?";
      feed = at === "r" ? feed[1] : feed[2];
    }
    return this.model.kinds[feed].letter;
  }

  /* The times within a run at which anything happens, in order. */
  moments(run) {
    const found = new Set([0]);
    this.electric(run)[2].forEach(([at]) => found.add(at));
    this.model.grids.forEach((_, grid) => {
      const [, , , flights, events] = this.grid(run, grid);
      flights.forEach(([due]) => found.add(due));
      events.forEach(([at]) => found.add(at));
    });
    const length = this.starts[run + 1] - this.starts[run];
    return [...found].filter((at) => at < length).sort((a, b) => a - b).map((at) => at + this.starts[run]);
  }

  /* The next moment after a time, or the last one before it. */
  step(time, forward) {
    let run = this.runAt(time);
    for (; run >= 0 && run < this.runs; run += forward ? 1 : -1) {
      const all = this.moments(run);
      const found = forward ? all.find((at) => at > time) : all.reverse().find((at) => at < time);
      if (found !== undefined) return found;
    }
    return forward ? this.length : 0;
  }

  /* What lasts, from one time to another: outputs, coils, motions, flights, each as a span. */
  spans(from, to) {
    const tracks = { outputs: new Map(), coils: new Map(), parts: new Map(), thrown: new Map(), flights: [] };
    const open = new Map();
    const turn = (kind, number, at, value) => {
      const key = `${kind} ${number}`, began = open.get(key);
      if (began && at > began.from) push(tracks[kind], number, { ...began, to: at });
      open.delete(key);
      if (value) open.set(key, { kind, number, from: at, value });
    };
    const first = this.runAt(from), last = this.runAt(Math.max(from, to - 1));
    for (let run = first; run <= last; run++) this.collect(run, run === first, tracks, open, turn);
    const end = this.starts[last + 1];
    for (const one of open.values()) push(tracks[one.kind], one.number, { ...one, to: end });
    return tracks;
  }

  collect(run, isFirst, tracks, open, turn) {
    const zero = this.starts[run];
    const [outputs, coils, events] = this.electric(run);
    if (isFirst) {
      outputs.forEach((output) => turn("outputs", output, zero, 1));
      coils.forEach(([actuator, polarity, since]) => turn("coils", actuator, zero + since, polarity));
    }
    for (const [at, code, number, value] of events) {
      turn(code === OUTPUT ? "outputs" : "coils", number, zero + at, value);
    }
    this.model.grids.forEach((shape, grid) => {
      const [letters, moving, , flights, moves] = this.grid(run, grid);
      if (isFirst) this.atFirst(zero, grid, letters, moving, flights, tracks, turn);
      for (const [at, code, subject, detail] of moves) {
        if (code === POSITION) {
          turn("parts", subject, zero + at, detail === "T" ? 1 : detail === "R" ? -1 : 0);
        } else if (code === FLIGHT) {
          const fall = shape.falls[subject - 1] ?? 0;
          tracks.flights.push({ grid, place: subject, from: zero + at, to: zero + at + fall, cells: detail });
        }
      }
    });
  }

  atFirst(zero, grid, letters, moving, flights, tracks, turn) {
    const own = this.model.actuators.map((a, n) => [a, n]).filter(([a]) => a.grid === grid);
    own.forEach(([, n], rank) => tracks.thrown.set(n, letters[rank]));
    for (const [number, due] of moving) {
      const target = tracks.thrown.get(number);
      tracks.thrown.set(number, target === "t" ? "r" : "t");
      turn("parts", number, zero + due - this.model.actuators[number].settles, target === "t" ? 1 : -1);
    }
    for (const [due, place, cells] of flights) {
      const fall = this.model.grids[grid].falls[place - 1] ?? 0;
      tracks.flights.push({ grid, place, from: zero + due - fall, to: zero + due, cells });
    }
  }
}

function push(map, key, value) {
  if (!map.has(key)) map.set(key, []);
  map.get(key).push(value);
}
