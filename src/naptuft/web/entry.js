// One input of a form: a ruled line to write on, with its unit; or a few words to choose from.
export default {
  props: { id: String, value: String, choices: Array, unit: String, mark: String, label: String, faulty: Boolean, placeholder: String, describedby: String },
  template: `
    <span v-if="choices && choices.length <= 3" class="entry words" role="radiogroup" :aria-label="label">
      <label v-for="choice in choices"><input type="radio" :name="id" :value="choice" v-model="written" :data-mark="mark + '-' + choice.replace(/ /g, '-')"><span>{{ choice }}</span></label>
    </span>
    <span v-else-if="choices" class="entry pick"><select v-model="written" :aria-label="label" :data-mark="mark"><option v-for="choice in choices" :value="choice">{{ choice }}</option></select></span>
    <span v-else class="entry" :class="{ faulty }">
      <input ref="line" type="text" v-model="written" :aria-label="label" :aria-invalid="faulty" :aria-describedby="describedby" :data-mark="mark" :placeholder="placeholder" autocomplete="off" spellcheck="false">
      <span class="unit" v-if="unit && bare">{{ unit }}</span>
    </span>`,
  data() { return { written: this.value ?? "", quiet: false }; },
  computed: {
    bare() { return /^[\d\s.,/+-]*$/.test(this.written); },
  },
  watch: {
    value(now) {
      if ((now ?? "") === this.written) return;
      this.quiet = true;
      this.written = now ?? "";
      this.$nextTick(() => { this.quiet = false; });
    },
    written(now) {
      if (!this.quiet) this.$emit("update:value", now);
    },
  },
  methods: {
    updateValue() {
      if (document.activeElement !== this.$refs.line) this.written = this.value ?? "";
    },
  },
};
