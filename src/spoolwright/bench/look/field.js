// One field of the sheet. The text stays as typed; the server judges it and answers through the props.
export default {
  template: `
  <div :class="['fld', look, origin, state]">
    <label :for="id_" :title="hint">{{ label }}</label>
    <span class="box"><i class="a" v-if="look=='dim'"></i><span class="in">
      <select v-if="choices.length" :id="id_" :value="draft" @change="draft=$event.target.value; take()" :aria-invalid="state=='refused'" :aria-describedby="said ? id_+'-say' : null">
        <option v-for="one in choices" :key="one" :value="one">{{ one.replaceAll('_',' ') }}</option>
      </select>
      <input v-else :id="id_" type="text" v-model="draft" :placeholder="placeholder" autocomplete="off" spellcheck="false" :inputmode="keypad ? 'decimal' : 'text'"
        :data-path="path" :aria-invalid="state=='refused'" :aria-describedby="said ? id_+'-say' : null"
        @focus="begin" @keydown.enter.prevent="enter" @keydown.escape="escape" @blur="left" @keydown="keys">
      <i class="under"></i></span><i class="z" v-if="look=='dim'"></i>
      <i class="dot" v-if="changed" title="changed, not run"></i></span>
    <span class="second" v-if="second">{{ second }}</span>
    <div class="say" :class="state" v-if="said" :id="id_+'-say'" role="alert">{{ said }}
      <span class="btns" v-if="offers.length || state=='doubted' || state=='elsewhere'">
        <button type="button" class="btn s pri" v-for="(one,n) in offers" :key="one" @click="offer(one)">Use {{ one }}<kbd v-if="n==0">Alt Enter</kbd></button>
        <button type="button" class="btn s" v-if="state=='doubted'" @click="emit_('keep')">Keep {{ draft }}</button>
        <button type="button" class="btn s" v-if="state=='elsewhere'" @click="emit_('mine')">Take mine</button>
        <button type="button" class="btn s q" @click="restore">{{ state=='elsewhere' ? 'Take the other' : 'Put back' }}</button>
      </span>
    </div>
  </div>`,
  props: { path: String, label: String, text: String, look: String, origin: String, state: String, said: String, second: String, hint: String,
    offers: { type: Array, default: () => [] }, choices: { type: Array, default: () => [] }, changed: Boolean, keypad: Boolean, placeholder: String },
  data() { return { draft: this.text, seen: this.text, id_: "f" + Math.random().toString(36).slice(2) }; },
  watch: {
    text(now, before) { if (this.draft === before || this.draft === now) { this.draft = now; this.seen = now; } }, // what is being typed stays
  },
  methods: {
    begin(event) { if (this.draft === this.text) { this.seen = this.text; event.target.select(); } }, // a window that comes back keeps what was seen
    emit_(name) { this.$emit(name, { text: this.draft, seen: this.seen }); },
    take() { this.told = this.draft; this.emit_("take"); },
    enter(event) { if (event.altKey && this.offers.length) return this.offer(this.offers[0]); this.take(); },
    left() { if (this.draft !== this.text && this.draft !== this.told) this.take(); },
    offer(text) { this.draft = text; this.take(); },
    escape(event) { if (this.draft !== this.text || this.state) { event.stopPropagation(); this.restore(); } },
    restore() { this.draft = this.text; this.seen = this.text; this.told = null; this.$emit("restore", {}); },
    keys(event) { if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z") event.stopPropagation(); },
  },
};
