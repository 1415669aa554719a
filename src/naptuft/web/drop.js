// Where a workbook is dropped, or chosen. The file goes straight to the server; the page hears how it went.
export default {
  props: { words: String, small: Boolean },
  template: `
    <div class="drop" :class="{ over, small }" @dragover.prevent="over = true" @dragleave="over = false" @drop.prevent="dropped">
      <label class="press" :class="{ main: !small }" tabindex="0" role="button" @keydown.enter.prevent="$refs.file.click()" @keydown.space.prevent="$refs.file.click()">{{ words }}<input ref="file" type="file" accept=".xlsx" hidden data-mark="book-file" @change="chosen"></label>
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
