// A line to type in. What is being typed stays, whatever else of the page is drawn anew meanwhile.
export default {
  template: `<input type="text" autocomplete="off" v-model="draft">`,
  props: { value: String },
  data() { return { draft: this.value }; },
  watch: { value(now, before) { if (this.draft === before) this.draft = now; } },
};
