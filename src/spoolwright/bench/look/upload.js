// A place to choose or drop one file. The server bounds and judges it again; what it says stands beside the button.
export default {
  template: `<div class="upload" :class="{over}" :data-url="url" @dragover.prevent="over=true" @dragleave="over=false" @drop.prevent="drop">
    <input type="file" class="unseen" :id="id_" :accept="accept" @change="pick" :disabled="busy">
    <label class="btn" :for="id_" :class="{pri: primary}">{{ busy ? 'Reading ' + name : label }}</label>
    <span class="note">{{ hint }}</span>
    <div class="bad" role="alert" v-if="said">{{ said }}</div></div>`,
  props: { url: String, label: String, hint: String, accept: String, most: Number, primary: Boolean },
  data() { return { said: "", busy: false, over: false, name: "", id_: "u" + Math.random().toString(36).slice(2) }; },
  methods: {
    pick(event) { this.send(event.target.files[0]); event.target.value = ""; },
    drop(event) { this.over = false; this.send(event.dataTransfer.files[0]); },
    async send(file) {
      if (!file) return;
      this.said = "";
      if (file.size > this.most) {
        this.said = `${file.name} has ${(file.size / 1e6).toFixed(0)} MB; at most ${(this.most / 1e6).toFixed(0)} MB are taken.`;
        return;
      }
      this.busy = true;
      this.name = file.name;
      try {
        const answer = await fetch(this.url, { method: "POST", body: file, headers: { "X-File-Name": encodeURIComponent(file.name) } });
        this.said = answer.headers.get("content-type")?.includes("json") ? (await answer.json()).said : "The file was not taken.";
      } catch { this.said = "The file did not get through; try again."; }
      this.busy = false;
    },
  },
};
