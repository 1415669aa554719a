// Where a file is dropped, or chosen. A workbook goes straight to the server, and the page hears how it went; with `text`,
// the page is handed what stands in it.
export default {
  props: { words: String, small: Boolean, accept: { type: String, default: ".xlsx" }, text: Boolean },
  template: `
    <div class="drop" :class="{ over, small }" @dragover.prevent="over = true" @dragleave="over = false" @drop.prevent="dropped">
      <label class="press" :class="{ main: !small }" tabindex="0" role="button" @keydown.enter.prevent="$refs.file.click()" @keydown.space.prevent="$refs.file.click()">{{ words }}<input ref="file" type="file" :accept="accept" hidden data-mark="book-file" @change="chosen"></label>
      <span class="drop-words">{{ said }}</span>
    </div>`,
  data() { return { over: false, busy: false, said: this.small ? "" : "or drop it anywhere in this box" }; },
  methods: {
    dropped(event) {
      this.over = false;
      if (event.dataTransfer.files.length) this.send(event.dataTransfer.files[0]);
    },
    chosen(event) {
      if (event.target.files.length) this.send(event.target.files[0]);
      event.target.value = "";
    },
    async send(file) {
      if (this.busy) return;
      this.busy = true;
      if (this.text) {
        this.$emit("text", await file.text());
        this.said = "";
        this.busy = false;
        return;
      }
      this.said = `Checking ${file.name} …`;
      try {
        const answer = await fetch(`/desk/book?name=${encodeURIComponent(file.name)}`, { method: "POST", body: file, headers: { "X-Naptuft": "1" } });
        const found = await answer.json();
        if (!answer.ok) throw new Error(found.detail);
        this.said = found.faults ? `${found.faults} faults in ${file.name}` : `${file.name} is sound`;
        this.$emit("taken", found.faults);
      } catch (problem) {
        this.said = `${file.name} could not be taken: ${problem.message}`;
      }
      this.busy = false;
    },
  },
};
