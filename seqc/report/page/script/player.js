/* Plays a scene: to any time, at any speed, step by step, by mouse and by keys. */
class Player {
  constructor(model, root) {
    this.model = model;
    this.root = root;
    this.find = (name) => root.querySelector(`[data-part="${name}"]`);
    this.planes = new Planes(this.find("planes"), model);
    this.chart = new Chart(this.find("chart"), model, (time) => this.jump(time));
    this.slider = this.find("time");
    this.playing = false;
    this.time = 0;
    this.scene = null;
    this.zoom = 0;
    this.listen();
  }

  listen() {
    for (const button of this.root.querySelectorAll("[data-do]")) {
      button.addEventListener("click", () => this.act(button.dataset.do));
    }
    this.slider.addEventListener("input", () => this.jump(Number(this.slider.value)));
    this.find("speed").addEventListener("change", () => { this.before = null; });
    this.find("zoom").addEventListener("change", () => this.redraw());
    this.find("all").addEventListener("change", () => this.redraw());
    this.find("listed").addEventListener("toggle", () => this.list());
    this.find("jump").addEventListener("submit", (event) => {
      event.preventDefault();
      const asked = Number(this.find("jump").elements.ms.value);
      if (Number.isFinite(asked)) this.jump(this.scene.starts[this.run] + asked * 1000);
    });
    this.root.addEventListener("keydown", (event) => this.key(event));
    window.addEventListener("beforeprint", () => this.redraw());
    window.addEventListener("afterprint", () => this.redraw());
    new ResizeObserver(() => this.refit()).observe(this.root);
  }

  key(event) {
    const own = { " ": "play", ArrowRight: "step", ArrowLeft: "step-back", PageDown: "frame",
      PageUp: "frame-back", Home: "first", End: "last", "+": "faster", "-": "slower" }[event.key];
    const typing = event.target.matches("select, input[type=number]");
    const pressing = event.key === " " && event.target.matches("button, summary, input[type=checkbox]");
    if (!own || typing || pressing || event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    this.act(own);
  }

  act(what) {
    if (!this.scene) return;
    const { scene } = this;
    switch (what) {
      case "play": this.toggle(); return;
      case "step": this.pause(); this.jump(scene.step(this.time, true)); return;
      case "step-back": this.pause(); this.jump(scene.step(this.time, false)); return;
      case "frame": this.jump(scene.starts[Math.min(this.run + 1, scene.runs - 1)]); return;
      case "frame-back": this.jump(this.frameBefore()); return;
      case "first": this.jump(scene.starts[scene.entry.enter - scene.entry.first]); return;
      case "last": this.jump(scene.length); return;
      case "critical": this.pause(); this.jump(scene.entry.causes[0][0]); return;
      default: this.faster(what === "faster" ? 1 : -1);
    }
  }

  /* The start of this frame, or of the one before it. */
  frameBefore() {
    const start = this.scene.starts[this.run];
    return this.time > start ? start : this.scene.starts[Math.max(0, this.run - 1)];
  }

  faster(by) {
    const speed = this.find("speed");
    speed.selectedIndex = Math.min(speed.options.length - 1, Math.max(0, speed.selectedIndex + by));
  }

  get run() {
    return this.scene.runAt(this.time);
  }

  load(scene, time = null) {
    this.scene = scene;
    this.window = null;
    this.quietOf = null;
    this.passesOf = null;
    this.root.querySelector('[data-do="critical"]').hidden = !scene.entry.causes.length;
    change(this.slider, "max", scene.length);
    change(this.slider, "step", scene.length > 1e9 ? 1000 : 1);
    this.jump(time ?? scene.starts[scene.entry.enter - scene.entry.first]);
  }

  jump(time) {
    this.time = Math.min(this.scene.length, Math.max(0, Math.round(time)));
    this.show();
  }

  toggle() {
    if (this.playing) this.pause();
    else this.play();
  }

  play() {
    if (this.time >= this.scene.length) this.act("first");
    this.playing = true;
    this.before = null;
    this.named();
    requestAnimationFrame((now) => this.frame(now));
  }

  pause() {
    this.playing = false;
    this.named();
    if (this.scene) this.tell();
  }

  named() {
    const button = this.root.querySelector('[data-do="play"]');
    button.textContent = this.playing ? "Pause" : "Play";
    this.find("now").setAttribute("aria-live", this.playing ? "off" : "polite");
  }

  frame(now) {
    if (!this.playing || !this.root.isConnected) return;
    if (this.before !== null) this.advance((now - this.before) * 1000 * Number(this.find("speed").value));
    this.before = now;
    requestAnimationFrame((next) => this.frame(next));
  }

  advance(by) {
    const { scene } = this;
    let time = this.time + by;
    if (time >= scene.length) {
      if (scene.entry.loop === null) {
        this.jump(scene.length);
        this.pause();
        return;
      }
      const start = scene.starts[scene.entry.loop - scene.entry.first];
      time = start + ((time - start) % (scene.length - start));
    }
    this.jump(time);
  }

  show() {
    const state = this.scene.stateAt(this.time);
    this.planes.show(this.scene, state);
    this.slider.value = this.time;
    this.stretch(state.run);
    this.chart.at(this.time);
    this.heading(state);
    if (!this.playing) this.tell(state);
  }

  heading(state) {
    const into = spoken(this.time - this.scene.starts[state.run]);
    const title = this.scene.title(state.run);
    this.find("now").textContent = title;
    this.find("clock").textContent = `${into} into it, ${spoken(this.time)} in all`;
    this.slider.setAttribute("aria-valuetext", `${title}, ${into}`);
    if (this.passesOf !== state.run) {
      this.passesOf = state.run;
      const plan = this.scene.plan(state.run);
      this.find("passes-of").hidden = !plan?.length;
      showPasses(this.find("passes"), this.model, plan);
    }
  }

  /* What is seen and how every part stands, in words. */
  tell(state = this.scene.stateAt(this.time)) {
    const seen = this.find("seen");
    seen.replaceChildren();
    this.model.grids.forEach((grid, number) => {
      if (this.model.grids.length > 1) make(seen, "p", { class: "strong" }, grid.name);
      const list = make(seen, "ul", { "data-seen": number });
      for (const line of seenWords(this.model, state, number)) make(list, "li", {}, line);
    });
    const parts = this.find("parts");
    parts.replaceChildren();
    this.model.actuators.forEach((actuator, number) => {
      const { at, moving } = state.parts[number];
      const polarity = { 1: "forward", "-1": "reverse" }[state.coils.get(number)] ?? "";
      const stands = { r: "rest", t: "thrown", "?": "not known" }[at];
      const row = make(parts, "tr");
      make(row, "th", { scope: "row" }, actuator.name);
      make(row, "td", {}, moving ? `moves to ${stands}` : stands);
      make(row, "td", {}, polarity);
    });
  }

  /* Keep the chart's stretch around the time. */
  stretch(run) {
    const asked = this.find("zoom").value, zoom = Number(asked);
    const start = this.scene.starts[run], end = this.scene.starts[run + 1];
    let from = start, to = end;
    if (asked === "auto") {
      const quiet = this.quietAt(run, start);
      if (this.time <= quiet) to = quiet;
    } else if (zoom && zoom < end - start) {
      const number = Math.floor((this.time - start) / zoom);
      from = Math.min(start + number * zoom, Math.max(start, end - zoom));
      to = Math.min(end, from + zoom);
    }
    const key = `${from} ${to}`;
    if (this.window !== key) {
      this.window = key;
      this.chart.draw(this.scene, from, Math.max(to, from + 1), this.find("all").checked);
      this.list();
    }
  }

  /* A little after the last that happens in a run. */
  quietAt(run, start) {
    if (this.quietOf !== run) {
      this.quietOf = run;
      const last = this.scene.moments(run).at(-1);
      const end = this.scene.starts[run + 1];
      this.quiet = last > start ? Math.min(end, last + (last - start) * 0.05 + 1000) : end;
    }
    return this.quiet;
  }

  /* What the chart draws, in words, once that is opened. */
  list() {
    const details = this.find("listed"), body = details.querySelector("tbody");
    body.replaceChildren();
    if (!details.open || !this.chart.scene) return;
    for (const [time, words] of chartWords(this.chart)) {
      const row = make(body, "tr");
      make(row, "th", { scope: "row" }, time);
      make(row, "td", {}, words);
    }
  }

  redraw() {
    this.planes.fit();
    this.window = null;
    if (this.scene) this.show();
  }

  refit() {
    if (this.scene && this.root.clientWidth !== this.fitted) {
      this.fitted = this.root.clientWidth;
      this.redraw();
    }
  }
}
