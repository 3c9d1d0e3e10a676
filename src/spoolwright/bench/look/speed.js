// The engine speed under the slider: a scale with named marks, moved by pointer, touch or arrow keys, step by computed step.
export default {
  template: `
  <div class="speedbar" :style="{'--n': speeds.length}">
    <div class="track" ref="track">
      <span v-for="one in spots" :key="one.name" class="mk" :class="[one.look, one.end]" :style="{left: one.at+'%', top: one.row*15+'px', height: (48-one.row*15)+'px'}"><span>{{ one.name }}</span></span>
      <i class="axis"></i>
      <span v-for="one in ticks" :key="one.rpm" class="tick" :class="{big: one.text}" :style="{left: one.at+'%'}"><span v-if="one.text">{{ one.text }}</span></span>
      <span class="thumb" v-if="speeds.length" :style="{left: place(now)+'%'}"><span>{{ figures(now) }} rpm</span></span>
      <input class="speed" type="range" min="0" :max="Math.max(speeds.length-1,0)" step="1" v-model.number="at" :data-leap="leap" :disabled="speeds.length<2"
        aria-label="Engine speed" :aria-valuetext="speeds.length ? figures(now)+' rpm' : 'no run yet'" @input="moved">
    </div>
  </div>`,
  props: { speeds: Array, value: Number, marks: Array, low: Number, high: Number, leap: Number },
  data() { return { at: Math.max(this.speeds.indexOf(this.value), 0), wide: 1200 }; },
  computed: {
    now() { return this.speeds[this.at] ?? 0; },
    ticks() {
      const step = this.wide < 500 ? 1000 : 500, out = [];
      for (let rpm = Math.ceil(this.low / (step / 5)) * (step / 5); rpm <= this.high + 1; rpm += step / 5) {
        const big = Math.abs(rpm / step - Math.round(rpm / step)) < 1e-6;
        out.push({ rpm, at: this.place(rpm), text: big ? this.figures(rpm) : "" });
      }
      return out;
    },
    spots() {
      const ends = [-1e9, -1e9, -1e9], out = [];
      for (const mark of this.marks) {
        const x = this.place(mark.rpm) / 100 * this.wide, width = mark.name.length * 6.2 + 10;
        const end = x + width > this.wide ? "left" : "right";
        const from = end === "right" ? x : x - width;
        const row = Math.max([0, 1, 2].findIndex((one) => ends[one] <= from), 0);
        if (ends[row] > from) continue;
        ends[row] = from + width;
        out.push({ ...mark, at: this.place(mark.rpm), row, end });
      }
      return out;
    },
  },
  watch: {
    value(now) { const at = this.speeds.indexOf(now); if (at >= 0 && at !== this.at) { this.at = at; window.bench.setSpeed(now); } },
    speeds() { this.at = Math.max(this.speeds.indexOf(this.value), 0); window.bench.setSpeed(this.now); },
  },
  mounted() {
    this.watcher = new ResizeObserver(() => {
      this.wide = this.$refs.track.clientWidth;
      const narrow = matchMedia("(max-width:760px)").matches;
      if (narrow !== this.narrow) { this.narrow = narrow; this.$emit("narrow", narrow); }
    });
    this.watcher.observe(this.$refs.track);
    if (this.speeds.length) window.bench.setSpeed(this.now);
  },
  unmounted() { this.watcher?.disconnect(); },
  methods: {
    place(rpm) { return (rpm - this.low) / (this.high - this.low || 1) * 100; },
    figures(rpm) { return Math.round(rpm).toLocaleString("en").replaceAll(",", "\u202f"); },
    moved() { window.bench.setSpeed(this.now); this.$emit("speed", this.now); },
  },
};
