// A ruled table. Rows are {k: key, c: cells}; a cell is words, or {t: words, v: value, u: unit, s: state, h: link, b: below, d: drawing}.
const MANY = 60; // more rows than this are drawn only where they are seen

const words = (cell) => (typeof cell === "string" ? cell : cell.t);
const value = (cell) => (typeof cell === "string" || cell.v === undefined ? words(cell) : cell.v);
const plain = (cell) => words(cell) + (cell.u ? ` ${cell.u}` : "") + (cell.b ? `, ${cell.b}` : "");

function compare(one, other) {
  if (typeof one === "number" && typeof other === "number") return one - other;
  if (one === "" || other === "") return one === other ? 0 : one === "" ? 1 : -1;
  return String(one).localeCompare(String(other), undefined, { numeric: true });
}

export default {
  props: { caption: String, columns: Array, rows: Array, fileName: String, empty: String, shapes: Object },
  template: `
    <div class="ledger">
      <div class="ledger-words">
        <span class="ledger-count">{{ count }}</span>
        <label class="ledger-find"><span>find</span><input ref="find" v-model="sought" data-mark="find" spellcheck="false" @keydown.esc="sought = ''" @keydown.down.prevent="goto(0, 0)"></label>
        <button type="button" class="word-press" data-mark="filter" :aria-pressed="filtering" @click="toggleFilter">filter by column</button>
        <button type="button" class="word-press" data-mark="copy" @click="copyAll">copy table</button>
        <button type="button" class="word-press" data-mark="csv" @click="saveCsv">save as CSV</button>
      </div>
      <div class="ledger-view" ref="view" @scroll="measure">
        <table role="grid" :aria-label="caption" :aria-rowcount="shown.length + 1" @keydown="key" @copy.prevent="copySome" :style="{ minWidth: leastWidth + 'px' }">
          <colgroup><col v-for="column in columns" :style="{ width: share(column) }"></colgroup>
          <thead>
            <tr>
              <th v-for="(column, at) in columns" scope="col" :class="column.kind" :aria-sort="sorted(at)">
                <button type="button" :data-mark="'sort-' + column.name" @click="sort(at)">{{ column.label }}<span class="way" v-if="by === at">{{ down ? "↓" : "↑" }}</span></button><span v-if="column.head" class="strip-head" aria-hidden="true" v-html="column.head"></span>
              </th>
            </tr>
            <tr v-if="filtering" class="filters">
              <td v-for="column in columns"><input v-model="filters[column.name]" :aria-label="'filter ' + column.label" :data-mark="'filter-' + column.name" spellcheck="false" @keydown.stop @keydown.esc="filters[column.name] = ''"></td>
            </tr>
          </thead>
          <tbody>
            <tr v-if="above" aria-hidden="true" class="gap"><td :colspan="columns.length" :style="{ height: above + 'px' }"></td></tr>
            <tr v-for="(row, down) in drawn" :key="row.k" :data-row="row.k" :class="{ wrong: row.w }" :aria-rowindex="first + down + 2" @dblclick="$emit('open', row.k)">
              <td v-for="(cell, across) in row.c" role="gridcell" :class="[columns[across].kind, { small: columns[across].small, chosen: chosen(first + down, across) }]"
                  :data-r="first + down" :data-c="across" :tabindex="here(first + down, across) ? 0 : -1" :title="plain(cell)"
                  @mousedown="press($event, first + down, across)" @mouseenter="drag($event, first + down, across)" @focus="rest($event, cell, first + down, across)" @blur="read('')"><span
                  v-if="cell.s" :class="['state', cell.s.replace(' ', '-')]"><svg class="mark" viewBox="0 0 12 12" aria-hidden="true" v-html="shapes[cell.s]"></svg>{{ cell.t }}</span><span
                  v-else-if="cell.d" class="strip" v-html="cell.d"></span><a
                  v-else-if="cell.h" :href="cell.h" tabindex="-1">{{ cell.t }}</a><span v-else class="words">{{ text(cell) }}</span><span v-if="cell.u" class="unit">&#8201;{{ cell.u }}</span><span v-if="cell.b" class="below">{{ cell.b }}</span></td>
            </tr>
            <tr v-if="beneath" aria-hidden="true" class="gap"><td :colspan="columns.length" :style="{ height: beneath + 'px' }"></td></tr>
            <tr v-if="!shown.length" class="none"><td :colspan="columns.length">{{ rows.length ? "no row matches" : empty }}</td></tr>
          </tbody>
        </table>
      </div>
    </div>`,
  data() {
    return {
      sought: "", filtering: false, filters: {}, by: -1, down: false, at: [0, 0], from: null,
      top: 0, height: 600, rowHeight: 38, printing: false,
    };
  },
  computed: {
    shown() {
      const sought = this.sought.trim().toLowerCase();
      const filters = this.columns
        .map((column, at) => [at, (this.filters[column.name] || "").trim().toLowerCase()])
        .filter(([, wanted]) => wanted);
      let rows = this.rows;
      if (sought) rows = rows.filter((row) => row.c.some((cell) => plain(cell).toLowerCase().includes(sought)));
      for (const [at, wanted] of filters) rows = rows.filter((row) => plain(row.c[at]).toLowerCase().includes(wanted));
      if (this.by >= 0) {
        const turn = this.down ? -1 : 1;
        rows = [...rows].sort((one, other) => turn * compare(value(one.c[this.by]), value(other.c[this.by])));
      }
      return rows;
    },
    count() {
      return this.shown.length === this.rows.length
        ? `${this.rows.length} ${this.caption}`
        : `${this.shown.length} of ${this.rows.length} ${this.caption}`;
    },
    thin() { return this.shown.length > MANY && !this.printing; },
    first() { return this.thin ? Math.max(0, Math.floor(this.top / this.rowHeight) - 10) : 0; },
    last() { return this.thin ? Math.min(this.shown.length, Math.ceil((this.top + this.height) / this.rowHeight) + 10) : this.shown.length; },
    drawn() { return this.shown.slice(this.first, this.last); },
    above() { return this.first * this.rowHeight; },
    beneath() { return (this.shown.length - this.last) * this.rowHeight; },
    leastWidth() { return this.columns.reduce((sum, column) => sum + column.width, 0); },
  },
  mounted() {
    this.measure();
    this.watcher = new ResizeObserver(() => this.measure());
    this.watcher.observe(this.$refs.view);
    this.before = () => { this.printing = true; };
    this.after = () => { this.printing = false; };
    this.slash = (event) => {
      if (event.key !== "/" || event.ctrlKey || !this.$el.offsetParent || event.target.closest("input, textarea, select")) return;
      event.preventDefault();
      this.$refs.find.focus();
    };
    window.addEventListener("beforeprint", this.before);
    window.addEventListener("afterprint", this.after);
    document.addEventListener("keydown", this.slash);
  },
  beforeUnmount() {
    this.watcher.disconnect();
    window.removeEventListener("beforeprint", this.before);
    window.removeEventListener("afterprint", this.after);
    document.removeEventListener("keydown", this.slash);
  },
  methods: {
    plain,
    text: words,
    share(column) { return `${column.width}px`; },
    sorted(at) { return this.by !== at ? "none" : this.down ? "descending" : "ascending"; },
    here(r, c) { return this.at[0] === r && this.at[1] === c; },
    measure() {
      const view = this.$refs.view;
      this.top = view.scrollTop;
      this.height = view.clientHeight;
      this.rowHeight = view.querySelector("tr[data-row]")?.offsetHeight || this.rowHeight;
    },
    sort(at) {
      if (this.by !== at) { this.by = at; this.down = false; } else if (!this.down) this.down = true; else this.by = -1;
      this.from = null;
    },
    toggleFilter() {
      this.filtering = !this.filtering;
      if (!this.filtering) this.filters = {};
    },
    showOnly(column, wanted) {
      this.filters = wanted ? { [column]: wanted } : {};
      this.filtering = Boolean(wanted);
      this.from = null;
    },
    chosen(r, c) {
      if (!this.from) return false;
      const [r0, r1] = [this.from[0], this.at[0]].sort((a, b) => a - b);
      const [c0, c1] = [this.from[1], this.at[1]].sort((a, b) => a - b);
      return r >= r0 && r <= r1 && c >= c0 && c <= c1;
    },
    rest(event, cell, r, c) {
      this.at = [r, c];
      const shown = event.target.querySelector(".words, .below");
      const cut = shown && (shown.scrollHeight > shown.clientHeight + 2 || shown.scrollWidth > shown.clientWidth + 1);
      this.read(cut ? plain(cell) : "");
    },
    read(words) {
      // What a cell cannot show whole is written beside the title block.
      if (words || this.reading) window.naptuft.say(words, 0);
      this.reading = Boolean(words);
    },
    press(event, r, c) {
      if (event.button) return;
      if (event.shiftKey) { this.from ??= this.at; event.preventDefault(); } else this.from = null;
      this.goto(r, c);
    },
    drag(event, r, c) {
      if (event.buttons !== 1) return;
      this.from ??= this.at;
      this.goto(r, c);
    },
    goto(r, c) {
      r = Math.max(0, Math.min(this.shown.length - 1, r));
      c = Math.max(0, Math.min(this.columns.length - 1, c));
      this.at = [r, c];
      const view = this.$refs.view;
      if (this.thin) {
        const y = r * this.rowHeight;
        if (y < view.scrollTop) view.scrollTop = y;
        if (y > view.scrollTop + view.clientHeight - 3 * this.rowHeight) view.scrollTop = y - view.clientHeight + 3 * this.rowHeight;
        this.measure();
      }
      this.$nextTick(() => view.querySelector(`td[data-r="${r}"][data-c="${c}"]`)?.focus());
    },
    key(event) {
      if (!event.target.closest("td[data-r]")) return;
      const [r, c] = this.at;
      const page = Math.max(1, Math.floor(this.height / this.rowHeight) - 2);
      const far = event.ctrlKey || event.metaKey;
      const to = {
        ArrowDown: [r + 1, c], ArrowUp: [r - 1, c], ArrowLeft: [r, c - 1], ArrowRight: [r, c + 1],
        PageDown: [r + page, c], PageUp: [r - page, c],
        Home: [far ? 0 : r, 0], End: [far ? this.shown.length : r, this.columns.length],
      }[event.key];
      if (to) {
        event.preventDefault();
        if (event.shiftKey) this.from ??= [r, c]; else this.from = null;
        this.goto(...to);
      } else if (event.key === "Enter") {
        event.preventDefault();
        const link = event.target.querySelector("a");
        if (link) link.click(); else this.$emit("open", this.shown[r].k);
      } else if (event.key === "Escape") {
        this.from = null;
      } else if (far && event.key.toLowerCase() === "a") {
        event.preventDefault();
        this.from = [0, 0];
        this.at = [this.shown.length - 1, this.columns.length - 1];
      } else if (far && event.key.toLowerCase() === "c" && !String(getSelection())) {
        event.preventDefault();
        this.copySome();
      }
    },
    block(rows, from, to) {
      return rows.map((row) => row.c.slice(from, to).map((cell) => plain(cell).replace(/[\t\r\n]+/g, " ")).join("\t")).join("\n");
    },
    copySome() {
      const from = this.from || this.at;
      const [r0, r1] = [from[0], this.at[0]].sort((a, b) => a - b);
      const [c0, c1] = [from[1], this.at[1]].sort((a, b) => a - b);
      const rows = this.shown.slice(r0, r1 + 1);
      window.naptuft.copy(this.block(rows, c0, c1 + 1), `${rows.length} × ${c1 - c0 + 1} cells`);
    },
    copyAll() {
      const head = this.columns.map((column) => column.label).join("\t");
      window.naptuft.copy(`${head}\n${this.block(this.shown, 0)}`, `${this.shown.length} rows with their heading`);
    },
    saveCsv() {
      const quote = (given) => {
        const safe = /^[=+@]/.test(given) || (/^-/.test(given) && isNaN(given)) ? `'${given}` : given;
        return /[",\n]/.test(safe) ? `"${safe.replace(/"/g, '""')}"` : safe;
      };
      const lines = [this.columns.map((column) => quote(column.label)).join(",")];
      for (const row of this.shown) {
        lines.push(row.c.map((cell) => quote(typeof cell === "string" || cell.s ? plain(cell) : String(value(cell)))).join(","));
      }
      const link = document.createElement("a");
      link.href = URL.createObjectURL(new Blob(["\ufeff", lines.join("\r\n"), "\r\n"], { type: "text/csv" }));
      link.download = `${this.fileName}.csv`;
      link.click();
      setTimeout(() => URL.revokeObjectURL(link.href), 1000);
      window.naptuft.say(`Saved ${this.shown.length} rows as ${this.fileName}.csv.`);
    },
  },
};
