// A described chart drawn by Plotly. Colours arrive as names of the look's variables, so that a change of theme needs no server.
const resolve = (value, style) => {
  if (typeof value === "string") return value.replace(/var\((--[a-z0-9-]+)\)/g, (_, name) => style.getPropertyValue(name).trim());
  if (Array.isArray(value)) return value.map((one) => resolve(one, style));
  if (value && typeof value === "object") return Object.fromEntries(Object.entries(value).map(([key, one]) => [key, resolve(one, style)]));
  return value;
};
// Words at a point of the data stay inside the plot, however narrow it is, and give way to those written before.
const WORDS = { letter: 6.6, line: 15 }; // px
const written = (layout, width, height) => {
  const wide = width - layout.margin.l - layout.margin.r, high = height - layout.margin.t - layout.margin.b;
  if (layout.xaxis.type === "log" || !(wide > 0 && high > 0)) return layout;
  const share = (value, [low, top]) => (value - low) / (top - low);
  const taken = [];
  const annotations = (layout.annotations || []).map((note) => {
    const scale = { y: layout.yaxis, y2: layout.yaxis2 }[note.yref];
    if (note.xref !== "x" || note.showarrow || !scale || scale.type === "log") return note;
    const length = note.text.replace(/<[^>]*>/g, "").length * WORDS.letter;
    const at = share(note.x, layout.xaxis.range) * wide + (note.xshift || 0);
    const left = Math.max(Math.min(at - { left: 0, center: length / 2, right: length }[note.xanchor], wide - length), 0);
    const up = share(note.y, scale.range) * high + { top: -WORDS.line / 2, middle: 0, bottom: WORDS.line / 2 }[note.yanchor];
    const wanted = up + (note.yshift || 0);
    const free = (place) => (place === wanted || (place > WORDS.line / 2 && place < high)) && taken.every((one) => left >= one.left + one.length || one.left >= left + length || Math.abs(place - one.place) >= WORDS.line);
    const place = [0, 1, -1, 2, -2].map((lines) => wanted + lines * WORDS.line).find(free);
    if (place === undefined) return { ...note, visible: false }; // no room: the readings tell it
    taken.push({ left, length, place });
    return { ...note, xanchor: "left", xshift: (note.xshift || 0) + left - at, yshift: place - up };
  });
  return { ...layout, annotations };
};
export default {
  template: `<figure class="chart" :class="size"><div class="head"><h3>{{ title }}</h3>
    <span class="tools"><button type="button" @click="save('png')" :aria-label="title+' as PNG'">PNG</button><button type="button" @click="save('svg')" :aria-label="title+' as SVG'">SVG</button><button type="button" @click="csv" :aria-label="title+' as CSV'">CSV</button></span></div>
    <div class="plot" ref="plot" tabindex="0" role="img" :aria-label="title+'. '+sentence+' Arrow keys read values.'" @keydown="keys"></div><i class="now" ref="now"></i>
    <div class="readout" aria-live="polite">{{ readout }}</div>
    <figcaption>{{ sentence }}</figcaption></figure>`,
  props: { figure: Object, title: String, sentence: String, name: String, size: String, readings: Object, unit: String },
  data() { return { readout: "" }; },
  async mounted() {
    const { Plotly } = await import("nicegui-plotly");
    if (!this.$refs.plot) return; // gone before the library came
    this.Plotly = Plotly;
    await this.draw();
    if (!this.$refs.plot?.on) return;
    this.onTheme = () => this.draw();
    this.onSpeed = (event) => this.line(event.detail);
    window.addEventListener("bench-theme", this.onTheme);
    window.addEventListener("bench-speed", this.onSpeed);
    this.watcher = new ResizeObserver(() => { this.Plotly.Plots.resize(this.$refs.plot); this.line(window.bench.speed); });
    this.watcher.observe(this.$refs.plot);
    this.$refs.plot.on("plotly_relayout", () => this.line(window.bench.speed));
    this.$refs.plot.on("plotly_hover", (event) => { if (event.points.length) this.read(event.points[0].x); });
    this.$refs.plot.on("plotly_unhover", () => { this.readout = ""; });
    this.line(window.bench.speed);
  },
  unmounted() {
    this.watcher?.disconnect();
    window.removeEventListener("bench-theme", this.onTheme);
    window.removeEventListener("bench-speed", this.onSpeed);
  },
  watch: { figure() { this.draw(); } },
  methods: {
    async draw() {
      if (!this.Plotly || !this.figure || !this.$refs.plot) return;
      const style = getComputedStyle(document.documentElement);
      const { data, layout } = resolve(this.figure, style);
      await this.Plotly.react(this.$refs.plot, data, written(layout, this.$refs.plot.clientWidth, this.$refs.plot.clientHeight), { displayModeBar: false, responsive: false, doubleClick: "reset" });
      if (!this.$refs.plot) return;
      this.$el.dataset.drawn = "yes";
      this.line(window.bench.speed);
    },
    line(rpm) {
      const full = this.$refs.plot?._fullLayout, now = this.$refs.now;
      if (!full || !this.figure.slider || rpm == null) { if (now) now.style.display = "none"; return; }
      const x = full.xaxis.l2p(rpm), inside = x >= -0.5 && x <= full.xaxis._length + 0.5;
      now.style.display = inside ? "block" : "none";
      now.style.left = full._size.l + x + "px";
      now.style.top = this.$refs.plot.offsetTop + full._size.t + "px";
      now.style.height = full._size.h + "px";
    },
    read(x) {
      const at = this.readings?.x;
      if (!at?.length) return;
      let best = 0;
      at.forEach((one, n) => { if (Math.abs(one - x) < Math.abs(at[best] - x)) best = n; });
      this.place = best;
      this.readout = this.readings.lines[best];
    },
    keys(event) {
      const by = { ArrowRight: 1, ArrowLeft: -1 }[event.key], at = this.readings?.x;
      if (!by || !at?.length) return;
      event.preventDefault();
      event.stopPropagation();
      this.read(at[Math.min(Math.max((this.place ?? (by > 0 ? -1 : at.length)) + by, 0), at.length - 1)]);
    },
    save(format) { this.Plotly.downloadImage(this.$refs.plot, { format, filename: this.name, width: 960, height: 560 }); },
    csv() { this.$emit("csv", {}); },
  },
};
