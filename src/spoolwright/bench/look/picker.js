// A picture to click on: gives places in the picture's own pixels, and draws what was clicked over it.
export default {
  template: `<div class="picker"><div class="sheet-of" ref="box" @click="clicked" :class="{aim: active}">
    <img :src="src" alt="the map picture" draggable="false">
    <svg :viewBox="'0 0 '+width+' '+height" preserveAspectRatio="none" aria-hidden="true">
      <polyline v-for="(one,n) in lines" :key="'l'+n" :points="one.points.map((p) => p.join(',')).join(' ')" :class="one.look" fill="none" vector-effect="non-scaling-stroke"/>
      <g v-for="(one,n) in dots" :key="'d'+n" :class="one.look"><path :d="cross(one)" vector-effect="non-scaling-stroke"/>
        <text v-if="one.words" :x="one.x+8*scale" :y="one.y-6*scale" :style="{fontSize: 13*scale+'px'}">{{ one.words }}</text></g>
    </svg></div></div>`,
  props: { src: String, width: Number, height: Number, lines: Array, dots: Array, active: Boolean },
  data() { return { scale: 1 }; },
  mounted() {
    this.watcher = new ResizeObserver(() => { this.scale = this.width / Math.max(this.$refs.box.clientWidth, 1); });
    this.watcher.observe(this.$refs.box);
  },
  unmounted() { this.watcher?.disconnect(); },
  methods: {
    cross(one) { const r = 6 * this.scale; return `M${one.x - r},${one.y}h${2 * r}M${one.x},${one.y - r}v${2 * r}`; },
    clicked(event) {
      if (!this.active) return;
      const box = this.$refs.box.getBoundingClientRect();
      const x = (event.clientX - box.left) / box.width * this.width, y = (event.clientY - box.top) / box.height * this.height;
      this.$emit("place", { x, y });
    },
  },
};
