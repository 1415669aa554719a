// The week board: machines down the side, hours across, drawn on two canvases (the plan; what is pointed at).
const HEAD = 46;
const STRIP = 30;
const RACK = 27;
const FONT = '"Barlow Condensed", "Barlow", sans-serif';
const [MACHINE, START, END, CHANGE, WAIT, ORDER, STEP, NAME, RUN, REASON] = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9];

function channels(colour) {
  return [1, 3, 5].map((at) => parseInt(colour.slice(at, at + 2), 16));
}

function mix(one, other, share) {
  const [a, b] = [channels(one), channels(other)];
  return `rgb(${a.map((part, at) => Math.round(part * share + b[at] * (1 - share))).join(",")})`;
}

function spanWords(minutes) {
  const parts = [[Math.floor(minutes / 1440), "d"], [Math.floor((minutes % 1440) / 60), "h"], [minutes % 60, "min"]];
  const first = parts.findIndex(([count]) => count);
  if (first < 0) return "0 min";
  return parts.slice(first, first + 2).filter(([count]) => count).map((part) => part.join(" ")).join(" ");
}

export default {
  props: { source: String, first: String },
  template: `
    <div class="board">
      <div class="board-words">
        <span class="board-window" data-mark="board-window">{{ windowWords }}</span>
        <span class="aside">show</span>
        <button v-for="[words, minutes] in spans" type="button" class="word-press" :data-mark="'span-' + words" @click="span(minutes)">{{ words }}</button>
        <button type="button" class="word-press" data-mark="board-in" aria-label="closer" @click="zoom(1.5)">closer</button>
        <button type="button" class="word-press" data-mark="board-out" aria-label="wider" @click="zoom(1 / 1.5)">wider</button>
      </div>
      <div class="board-view" ref="view" tabindex="0" role="application" data-mark="board-view"
           aria-label="Week board. Arrows go from operation to operation, Enter opens one, plus and minus zoom, shift and arrows pan."
           @keydown="key" @wheel.prevent="wheel" @pointerdown="down" @pointermove="move" @pointerup="up" @pointercancel="up" @pointerleave="leave">
        <canvas ref="base"></canvas><canvas ref="over"></canvas>
        <div class="board-tip" ref="tip" hidden></div>
        <p v-if="trouble" class="wrong board-trouble">{{ trouble }}</p>
      </div>
    </div>`,
  data() {
    return {
      windowWords: "", trouble: "",
      spans: [["whole", 0], ["week", 7 * 1440], ["day", 1440], ["shift", 480]],
    };
  },
  async mounted() {
    // Kept out of Vue's sight: thousands of operations need no watching.
    this.s = { from: 0, per: 1, top: 0, hover: null, focus: null, picked: -1, chain: null, pointers: new Map(), widths: new Map(), patterns: new Map() };
    this.repaper = () => { this.s.patterns.clear(); this.ink = null; this.dirty(); };
    window.addEventListener("paper", this.repaper);
    this.watcher = new ResizeObserver(() => this.fit());
    this.watcher.observe(this.$refs.view);
    try {
      const answer = await fetch(this.source);
      if (!answer.ok) throw new Error(`the server answered ${answer.status}`);
      this.take(await answer.json());
    } catch (problem) {
      this.trouble = `The plan could not be fetched: ${problem.message}. Reload the page to try again.`;
      return;
    }
    await Promise.all([document.fonts.load(`500 13px ${FONT}`), document.fonts.load(`600 14px ${FONT}`)]);
    this.fit();
    this.span(Math.min(7 * 1440, this.s.data.last), 0);
    if (this.first) this.show(this.first);
    this.$refs.view.dataset.ready = "yes";
  },
  beforeUnmount() {
    window.removeEventListener("paper", this.repaper);
    this.watcher?.disconnect();
    cancelAnimationFrame(this.frame);
  },
  methods: {
    take(data) {
      const s = this.s;
      s.data = data;
      s.rows = data.machines.map(() => []);
      s.of = data.work_orders.map(() => []);
      s.users = data.work_orders.map(() => []);
      for (const operation of data.operations) {
        s.rows[operation[MACHINE]].push(operation);
        s.of[operation[ORDER]].push(operation);
      }
      for (const row of s.rows) row.sort((a, b) => a[START] - b[START]);
      for (const steps of s.of) steps.sort((a, b) => a[STEP] - b[STEP] || a[START] - b[START]);
      data.work_orders.forEach((order, at) => order.needs.forEach((need) => s.users[need].push(at)));
      s.clock = new Intl.DateTimeFormat("en-GB", { timeZone: data.zone, weekday: "short", day: "numeric", month: "short", hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
      s.load = new Float32Array(Math.ceil(data.last / 60) + 1);
      for (const operation of data.operations) {
        for (let hour = Math.floor(operation[START] / 60); hour * 60 < operation[END]; hour += 1) {
          s.load[hour] += Math.max(0, Math.min(operation[END], hour * 60 + 60) - Math.max(operation[START], hour * 60)) / 60;
        }
      }
      s.most = Math.max(1, ...s.load);
    },
    moment(minute) {
      const part = Object.fromEntries(this.s.clock.formatToParts(this.s.data.epoch + minute * 60000).map((piece) => [piece.type, piece.value]));
      return { day: `${part.weekday} ${part.day} ${part.month}`, time: `${part.hour}:${part.minute}`, hour: Number(part.hour) };
    },
    words(minute) {
      const { day, time } = this.moment(minute);
      return `${day} ${time}`;
    },

    // Size and place ------------------------------------------------------------------------------
    fit() {
      const s = this.s;
      const view = this.$refs.view;
      if (!s?.data || !view?.clientWidth) return;
      s.width = view.clientWidth;
      s.height = view.clientHeight;
      s.gutter = s.width < 820 ? 112 : 196;
      s.plot = s.width - s.gutter;
      s.room = s.height - HEAD - STRIP - s.data.racks.length * RACK;
      s.row = Math.max(18, Math.min(40, s.room / s.rows.length));
      const ratio = window.devicePixelRatio || 1;
      for (const canvas of [this.$refs.base, this.$refs.over]) {
        canvas.width = Math.round(s.width * ratio);
        canvas.height = Math.round(s.height * ratio);
        canvas.style.width = `${s.width}px`;
        canvas.style.height = `${s.height}px`;
        canvas.getContext("2d").setTransform(ratio, 0, 0, ratio, 0, 0);
      }
      this.hold();
    },
    hold() {
      const s = this.s;
      s.per = Math.max(s.plot / (s.data.last * 1.02), Math.min(6, s.per));
      const seen = s.plot / s.per;
      s.from = Math.max(-0.02 * seen, Math.min(s.data.last * 1.02 - seen, s.from));
      s.top = Math.max(0, Math.min(s.row * s.rows.length - s.room, s.top));
      const from = this.moment(Math.max(0, s.from));
      const to = this.moment(s.from + seen);
      this.windowWords = seen > 2880 ? `${from.day} – ${to.day}` : `${from.day} ${from.time} – ${to.day} ${to.time}`;
      this.dirty();
    },
    dirty() {
      if (this.waiting || !this.s?.data) return;
      this.waiting = true;
      this.frame = requestAnimationFrame(() => {
        this.waiting = false;
        if (!this.s.width) return;
        this.drawBase();
        this.drawOver();
      });
    },
    x(minute) { return this.s.gutter + (minute - this.s.from) * this.s.per; },
    y(row) { return HEAD + row * this.s.row - this.s.top; },
    span(minutes, from) {
      const s = this.s;
      const middle = s.from + s.plot / s.per / 2;
      const wide = minutes || s.data.last * 1.02;
      s.per = s.plot / wide;
      s.from = from ?? (s.focus ? s.focus[START] - wide * 0.2 : minutes ? middle - wide / 2 : 0);
      this.hold();
    },
    zoom(factor, at) {
      const s = this.s;
      at ??= s.gutter + s.plot / 2;
      const minute = s.from + (at - s.gutter) / s.per;
      const per = s.per * factor;
      s.per = Math.max(s.plot / (s.data.last * 1.02), Math.min(6, per));
      s.from = minute - (at - s.gutter) / s.per;
      this.hold();
    },
    reveal(operation) {
      const s = this.s;
      const seen = s.plot / s.per;
      if (operation[START] < s.from || operation[END] > s.from + seen) s.from = operation[START] - seen * 0.25;
      const y = operation[MACHINE] * s.row;
      if (y < s.top) s.top = y;
      if (y + s.row > s.top + s.room) s.top = y + s.row - s.room;
      this.hold();
    },

    // Drawing -------------------------------------------------------------------------------------
    inks() {
      if (this.ink) return this.ink;
      const style = getComputedStyle(document.documentElement);
      const ink = {};
      for (const name of ["paper", "raised", "rule", "ink", "pale", "accent", "second", "closed"]) ink[name] = style.getPropertyValue(`--${name}`).trim();
      ink.hour = mix(ink.rule, ink.raised, 0.5);
      this.ink = ink;
      return ink;
    },
    look(line) {
      const s = this.s;
      let look = s.patterns.get(line);
      if (look) return look;
      const ink = this.inks();
      const [colour, hatch] = s.data.looks[line] || s.data.looks.other;
      look = { fill: mix(colour, ink.raised, 0.5), edge: mix(colour, ink.ink, 0.6), pattern: null };
      if (hatch !== "plain") {
        const ratio = window.devicePixelRatio || 1;
        const tile = document.createElement("canvas");
        tile.width = tile.height = 8 * ratio;
        const pen = tile.getContext("2d");
        pen.scale(ratio, ratio);
        pen.strokeStyle = pen.fillStyle = mix(colour, ink.ink, 0.75);
        pen.lineWidth = 1.1;
        pen.beginPath();
        if (hatch === "diagonal" || hatch === "cross") for (const at of [-8, 0, 8]) { pen.moveTo(at - 1, 9); pen.lineTo(at + 9, -1); }
        if (hatch === "cross") for (const at of [-8, 0, 8]) { pen.moveTo(at - 1, -1); pen.lineTo(at + 9, 9); }
        if (hatch === "upright") { pen.moveTo(2, 0); pen.lineTo(2, 8); pen.moveTo(6, 0); pen.lineTo(6, 8); }
        if (hatch === "level") { pen.moveTo(0, 2); pen.lineTo(8, 2); pen.moveTo(0, 6); pen.lineTo(8, 6); }
        pen.stroke();
        if (hatch === "dots") for (const [x, y] of [[2, 2], [6, 6]]) { pen.beginPath(); pen.arc(x, y, 1.1, 0, 7); pen.fill(); }
        look.pattern = pen.createPattern(tile, "repeat");
        look.shrink = 1 / ratio;
      }
      s.patterns.set(line, look);
      return look;
    },
    textWidth(pen, words) {
      let width = this.s.widths.get(words);
      if (width === undefined) this.s.widths.set(words, (width = pen.measureText(words).width));
      return width;
    },
    bar(pen, operation) {
      const s = this.s;
      const ink = this.inks();
      const order = s.data.work_orders[operation[ORDER]];
      const look = this.look(order.line);
      const top = Math.round(this.y(operation[MACHINE])) + 3;
      const tall = Math.round(s.row) - 6;
      const left = this.x(operation[START]);
      const wide = Math.max(1, (operation[END] - operation[START]) * s.per);
      if (wide < 2) {
        pen.fillStyle = look.edge;
        pen.fillRect(left, top, wide, tall);
        return;
      }
      if (operation[WAIT]) {
        const end = left + wide + operation[WAIT] * s.per;
        pen.fillStyle = ink.ink;
        pen.fillRect(left + wide, top + tall - 1.5, end - left - wide, 1);
        pen.fillRect(end - 1, top + tall - 5, 1, 5);
      }
      if (operation[CHANGE]) {
        pen.fillStyle = ink.ink;
        pen.fillRect(left - operation[CHANGE] * s.per, top, Math.max(1, operation[CHANGE] * s.per), tall);
      }
      if (look.pattern && wide > 4) look.pattern.setTransform(new DOMMatrix([look.shrink, 0, 0, look.shrink, left % 8, top]));
      for (const [from, to] of this.worked(operation)) {
        const [x, w] = [this.x(from), Math.max(1, (to - from) * s.per)];
        pen.fillStyle = look.fill;
        pen.fillRect(x, top, w, tall);
        if (look.pattern && wide > 4) {
          pen.fillStyle = look.pattern;
          pen.fillRect(x, top, w, tall);
        }
      }
      if (wide > 2.5) {
        pen.strokeStyle = look.edge;
        pen.lineWidth = 1;
        pen.strokeRect(left + 0.5, top + 0.5, wide - 1, tall - 1);
      }
      if (order.late && wide > 5) {
        const size = Math.min(8, wide - 1, tall);
        pen.fillStyle = ink.accent;
        pen.beginPath();
        pen.moveTo(left + wide, top);
        pen.lineTo(left + wide, top + size);
        pen.lineTo(left + wide - size, top);
        pen.fill();
      }
      if (wide > 30) this.label(pen, operation, order, look, top, tall);
    },
    worked(operation) {
      // The stretches it runs in: all of it, or what lies in open time when it pauses over closed time.
      const [start, end] = [operation[START], operation[END]];
      if (end - start <= operation[RUN]) return [[start, end]];
      const stretches = [];
      for (const [from, to] of this.s.data.machines[operation[MACHINE]].open) {
        if (from >= end) break;
        if (to > start) stretches.push([Math.max(from, start), Math.min(to, end)]);
      }
      return stretches;
    },
    label(pen, operation, order, look, top, tall) {
      // Written into the widest stretch in view that it is worked in, else into the widest it pauses over.
      const s = this.s;
      const ink = this.inks();
      const worked = this.worked(operation);
      const edges = [operation[START], ...worked.flat(), operation[END]];
      const stretches = worked.map(([from, to]) => [from, to, look.fill]);
      for (let at = 0; at < edges.length; at += 2) if (edges[at + 1] > edges[at]) stretches.push([edges[at], edges[at + 1], ink.closed]);
      pen.font = `500 13px ${FONT}`;
      for (const words of [`${order.product}  ${operation[NAME]}`, order.product]) {
        const need = this.textWidth(pen, words) + 12;
        let best = null;
        for (const [from, to, ground] of stretches) {
          const left = Math.max(this.x(from), s.gutter);
          const room = Math.min(this.x(to), s.width) - left;
          if (room >= need && (!best || (ground === look.fill && best.ground !== look.fill) || (ground === best.ground && room > best.room))) best = { left, room, ground };
        }
        if (!best) continue;
        if (look.pattern || best.ground === ink.closed) {
          pen.fillStyle = best.ground;
          pen.fillRect(best.left + 3, top + 2, need - 6, tall - 4);
        }
        pen.fillStyle = ink.ink;
        pen.fillText(words, best.left + 6, top + tall / 2 + 0.5);
        return;
      }
    },
    visible(row) {
      const s = this.s;
      const list = s.rows[row];
      const until = s.from + s.plot / s.per;
      const found = [];
      for (const operation of list) {
        if (operation[START] - operation[CHANGE] > until) break;
        if (operation[END] + operation[WAIT] >= s.from) found.push(operation);
      }
      return found;
    },
    // A sheet of the picture made empty: its pen, kept to the rows, and where the rows end.
    wiped(sheet) {
      const s = this.s;
      const pen = sheet.getContext("2d");
      pen.textBaseline = "middle";
      pen.clearRect(0, 0, s.width, s.height);
      const bottom = Math.min(HEAD + s.room, this.y(s.rows.length));
      pen.save();
      pen.beginPath();
      pen.rect(s.gutter, HEAD, s.plot, bottom - HEAD);
      pen.clip();
      return [pen, bottom];
    },
    drawBase() {
      const s = this.s;
      const ink = this.inks();
      const [pen, bottom] = this.wiped(this.$refs.base);
      pen.fillStyle = ink.closed;
      pen.fillRect(s.gutter, HEAD, s.plot, bottom - HEAD);
      pen.fillStyle = ink.raised;
      s.data.machines.forEach((machine, row) => {
        const y = this.y(row);
        if (y > bottom || y + s.row < HEAD) return;
        for (const [start, end] of machine.open) {
          const left = this.x(start);
          if (left > s.width) break;
          pen.fillRect(left, y, (end - start) * s.per, s.row);
        }
      });
      this.uprights(pen, HEAD, bottom);
      s.data.machines.forEach((machine, row) => {
        const apart = row === 0 || s.data.machines[row - 1].centre !== machine.centre;
        pen.fillStyle = apart ? ink.pale : ink.rule;
        pen.fillRect(s.gutter, Math.round(this.y(row)), s.plot, apart ? 1 : 0.7);
      });
      this.drawMoved(pen);
      for (let row = 0; row < s.rows.length; row += 1) {
        const y = this.y(row);
        if (y > bottom || y + s.row < HEAD) continue;
        for (const operation of this.visible(row)) this.bar(pen, operation);
      }
      pen.restore();
      this.drawRacks(pen, HEAD + s.room);
      this.drawHead(pen);
      this.drawGutter(pen, bottom);
      this.drawStrip(pen);
    },
    drawMoved(pen) {
      // Where an operation was before the plan was changed: a broken outline, joined to where it is now.
      const s = this.s;
      const ink = this.inks();
      const tall = Math.round(s.row) - 6;
      for (const [number, machine, start, end] of s.data.moved) {
        const now = s.data.operations[number];
        const [left, right] = [this.x(start), this.x(end)];
        const [top, to] = [Math.round(this.y(machine)) + 3, this.x(now[START])];
        if (Math.max(right, to) < s.gutter || Math.min(left, to) > s.width) continue;
        pen.lineWidth = 1.4;
        pen.strokeStyle = ink.accent;
        pen.setLineDash([4, 3]);
        pen.strokeRect(left + 0.5, top + 0.5, Math.max(2, right - left) - 1, tall - 1);
        pen.setLineDash([]);
        pen.lineWidth = 0.9;
        pen.strokeStyle = ink.pale;
        pen.beginPath();
        pen.moveTo(left, top + tall + 1);
        pen.lineTo(to, this.y(now[MACHINE]) + s.row - 2);
        pen.stroke();
      }
    },
    uprights(pen, top, bottom) {
      const s = this.s;
      const ink = this.inks();
      const hour = 60 * s.per;
      const every = [1, 2, 4, 6, 8, 12].find((count) => count * hour > 26);
      if (1440 * s.per > 90) {
        pen.fillStyle = ink.rule;
        for (const minute of s.data.shifts) {
          const x = this.x(minute);
          if (x > s.gutter && x < s.width) pen.fillRect(Math.round(x), top, 1, bottom - top);
        }
      }
      s.data.days.forEach(([minute]) => {
        if (every) {
          pen.fillStyle = ink.hour;
          for (let at = every; at < 24; at += every) {
            const x = this.x(minute + at * 60);
            if (x > s.gutter && x < s.width) pen.fillRect(Math.round(x), top, 1, bottom - top);
          }
        }
        const x = this.x(minute);
        if (x < s.gutter || x > s.width) return;
        pen.fillStyle = ink.pale;
        pen.fillRect(Math.round(x), top, 1, bottom - top);
      });
    },
    drawHead(pen) {
      const s = this.s;
      const ink = this.inks();
      pen.fillStyle = ink.paper;
      pen.fillRect(0, 0, s.width, HEAD);
      pen.save();
      pen.beginPath();
      pen.rect(s.gutter, 0, s.plot, HEAD);
      pen.clip();
      const day = 1440 * s.per;
      const every = [1, 2, 4, 6, 8, 12].find((count) => count * 60 * s.per > 26);
      s.data.days.forEach(([minute, words, week], at) => {
        const x = this.x(minute);
        const next = s.data.days[at + 1] ? this.x(s.data.days[at + 1][0]) : x + day;
        if (next < s.gutter || x > s.width) return;
        pen.fillStyle = ink.ink;
        pen.fillRect(Math.round(x), words.startsWith("Mon") ? 0 : 22, 1, HEAD);
        const left = Math.max(x, s.gutter);
        pen.font = `600 15px ${FONT}`;
        const shown = day > 78 ? words : day > 30 ? words.split(" ").slice(0, 2).join(" ") : words.startsWith("Mon") ? words.slice(4) : "";
        const narrow = day <= 30;
        if (shown && (narrow || next - left > this.textWidth(pen, shown) + 8)) pen.fillText(shown, left + 5, narrow ? 33 : 12);
        if (words.startsWith("Mon") && day * 7 > 60) {
          pen.font = `500 12px ${FONT}`;
          pen.fillStyle = ink.pale;
          if (narrow) pen.fillText(`week ${week}`, left + 5, 12);
        }
        if (!every) return;
        pen.font = `500 13px ${FONT}`;
        pen.fillStyle = ink.pale;
        for (let hour = 0; hour < 24; hour += every) {
          const place = this.x(minute + hour * 60);
          if (place < s.gutter - 2 || place > s.width - 10) continue;
          const words = String(this.moment(minute + hour * 60).hour).padStart(2, "0");
          pen.fillRect(Math.round(place), HEAD - 6, 1, 6);
          pen.fillText(words, place + 3, HEAD - 12);
        }
      });
      if (day > 90) {
        pen.fillStyle = ink.ink;
        for (const minute of s.data.shifts) {
          const x = Math.round(this.x(minute));
          pen.beginPath();
          pen.moveTo(x - 4, HEAD - 8);
          pen.lineTo(x + 4, HEAD - 8);
          pen.lineTo(x, HEAD - 1);
          pen.fill();
        }
      }
      pen.restore();
      pen.fillStyle = ink.ink;
      pen.fillRect(0, HEAD - 1.3, s.width, 1.3);
    },
    drawGutter(pen, bottom) {
      const s = this.s;
      const ink = this.inks();
      pen.save();
      pen.beginPath();
      pen.rect(0, HEAD, s.gutter, bottom - HEAD);
      pen.clip();
      pen.fillStyle = ink.paper;
      pen.fillRect(0, HEAD, s.gutter, bottom - HEAD);
      s.data.machines.forEach((machine, row) => {
        const y = this.y(row);
        if (y > bottom || y + s.row < HEAD) return;
        const apart = row === 0 || s.data.machines[row - 1].centre !== machine.centre;
        pen.fillStyle = apart ? ink.pale : ink.rule;
        pen.fillRect(0, Math.round(y), s.gutter, apart ? 1 : 0.7);
        const middle = y + s.row / 2 + 0.5;
        pen.font = `600 14px ${FONT}`;
        pen.fillStyle = ink.ink;
        pen.fillText(machine.code, 10, middle);
        const share = `${Math.round(machine.share * 100)} %`;
        const wide = pen.measureText(machine.code).width + 18;
        pen.font = `500 13px ${FONT}`;
        pen.fillStyle = ink.pale;
        pen.textAlign = "right";
        pen.fillText(share, s.gutter - 8, middle);
        pen.textAlign = "left";
        let name = machine.name;
        const room = s.gutter - wide - 44;
        while (name && pen.measureText(name).width > room) name = name.slice(0, -1);
        if (s.gutter > 150) pen.fillText(name === machine.name ? name : `${name.slice(0, -1)}…`, wide, middle);
      });
      pen.restore();
      pen.fillStyle = ink.ink;
      pen.fillRect(s.gutter - 1.3, HEAD, 1.3, HEAD + s.room - HEAD + s.data.racks.length * RACK);
      pen.fillRect(0, bottom, s.width, 0.7);
    },
    drawRacks(pen, top) {
      const s = this.s;
      const ink = this.inks();
      s.data.racks.forEach((rack, at) => {
        const y = top + at * RACK;
        const foot = y + RACK - 4;
        const tall = RACK - 9;
        pen.fillStyle = ink.paper;
        pen.fillRect(0, y, s.width, RACK);
        pen.save();
        pen.beginPath();
        pen.rect(s.gutter, y, s.plot, RACK);
        pen.clip();
        this.uprights(pen, y, y + RACK);
        pen.beginPath();
        let level = 0;
        pen.moveTo(this.x(0), foot);
        for (const [minute, held] of rack.steps) {
          const x = this.x(minute);
          pen.lineTo(x, foot - (level / rack.capacity) * tall);
          level = held;
          pen.lineTo(x, foot - (level / rack.capacity) * tall);
        }
        pen.lineTo(this.x(s.data.last), foot - (level / rack.capacity) * tall);
        pen.strokeStyle = ink.ink;
        pen.lineWidth = 1;
        pen.stroke();
        pen.lineTo(this.x(s.data.last), foot);
        pen.globalAlpha = 0.18;
        pen.fillStyle = ink.second;
        pen.fill();
        pen.globalAlpha = 1;
        pen.setLineDash([6, 4]);
        pen.strokeStyle = ink.pale;
        pen.beginPath();
        pen.moveTo(s.gutter, foot - tall);
        pen.lineTo(s.width, foot - tall);
        pen.stroke();
        pen.restore();
        pen.fillStyle = ink.pale;
        pen.fillRect(0, y, s.width, 1);
        pen.font = `600 14px ${FONT}`;
        pen.fillStyle = ink.ink;
        const middle = y + RACK / 2 + 0.5;
        pen.fillText(rack.code, 10, middle);
        const wide = pen.measureText(rack.code).width + 18;
        pen.font = `500 13px ${FONT}`;
        pen.fillStyle = ink.pale;
        if (s.gutter > 150) pen.fillText("racks held", wide, middle);
        pen.textAlign = "right";
        pen.fillText(`of ${rack.capacity}`, s.gutter - 8, middle);
        pen.textAlign = "left";
      });
    },
    drawStrip(pen) {
      const s = this.s;
      const ink = this.inks();
      const top = s.height - STRIP;
      const wide = s.plot / (s.data.last * 1.02);
      pen.fillStyle = ink.paper;
      pen.fillRect(0, top, s.width, STRIP);
      pen.fillStyle = ink.pale;
      pen.fillRect(0, top, s.width, 1);
      pen.fillStyle = ink.rule;
      s.load.forEach((load, hour) => {
        const tall = (load / s.most) * (STRIP - 8);
        pen.fillRect(s.gutter + hour * 60 * wide, s.height - 2 - tall, Math.max(1, 60 * wide), tall);
      });
      pen.strokeStyle = ink.ink;
      pen.lineWidth = 1.3;
      pen.strokeRect(s.gutter + Math.max(0, s.from) * wide, top + 3, Math.max(6, Math.min(s.plot, (s.plot / s.per) * wide)) - 2, STRIP - 5);
      pen.font = `500 13px ${FONT}`;
      pen.fillStyle = ink.pale;
      pen.fillText("machines at work", 10, top + STRIP / 2 + 1);
    },
    drawOver() {
      const s = this.s;
      const ink = this.inks();
      const [pen, bottom] = this.wiped(this.$refs.over);
      if (s.chain) this.drawChain(pen, bottom);
      for (const [operation, weight] of [[s.hover, 1.3], [s.focus, 2.6]]) {
        if (!operation) continue;
        const left = this.x(operation[START]);
        pen.strokeStyle = ink.ink;
        pen.lineWidth = weight;
        pen.strokeRect(left - 1, this.y(operation[MACHINE]) + 1.5, Math.max(3, (operation[END] - operation[START]) * s.per) + 2, s.row - 3);
      }
      pen.restore();
    },
    drawChain(pen, bottom) {
      const s = this.s;
      const ink = this.inks();
      pen.globalAlpha = 0.66;
      pen.fillStyle = ink.paper;
      pen.fillRect(s.gutter, HEAD, s.plot, bottom - HEAD);
      pen.globalAlpha = 1;
      const middle = (operation) => this.y(operation[MACHINE]) + s.row / 2;
      const join = (one, other) => {
        const [x0, y0, x1, y1] = [this.x(one[END] + one[WAIT]), middle(one), this.x(other[START]), middle(other)];
        const turn = Math.max(x0 + 5, x1 - 7);
        pen.beginPath();
        pen.moveTo(this.x(one[END]), y0);
        pen.lineTo(turn, y0);
        pen.lineTo(turn, y1);
        pen.lineTo(x1, y1);
        pen.stroke();
        pen.beginPath();
        pen.moveTo(x1, y1);
        pen.lineTo(x1 - 5, y1 - 3);
        pen.lineTo(x1 - 5, y1 + 3);
        pen.fill();
      };
      pen.fillStyle = pen.strokeStyle = ink.ink;
      for (const order of s.chain) {
        const steps = s.of[order];
        const own = order === s.picked;
        pen.lineWidth = own ? 1.6 : 0.9;
        steps.slice(1).forEach((step, at) => join(steps[at], step));
        for (const need of s.data.work_orders[order].needs) {
          if (s.chain.has(need) && s.of[need].length && steps.length) join(s.of[need].at(-1), steps[0]);
        }
      }
      for (const order of s.chain) for (const operation of s.of[order]) this.bar(pen, operation);
      const due = this.x(s.data.work_orders[s.picked].due);
      pen.fillStyle = ink.accent;
      pen.fillRect(due - 1, HEAD, 2, bottom - HEAD);
      pen.font = `600 14px ${FONT}`;
      pen.fillText("due", due + 4, HEAD + 10);
    },

    // Pointing ------------------------------------------------------------------------------------
    find(x, y) {
      const s = this.s;
      if (x < s.gutter || y < HEAD || y > HEAD + s.room) return null;
      const row = Math.floor((y - HEAD + s.top) / s.row);
      if (row < 0 || row >= s.rows.length) return null;
      const minute = s.from + (x - s.gutter) / s.per;
      const reach = 3 / s.per;
      let best = null;
      for (const operation of this.visible(row)) {
        if (minute >= operation[START] - operation[CHANGE] - reach && minute <= operation[END] + reach) best = operation;
        if (best && minute >= operation[START] && minute <= operation[END]) return operation;
      }
      return best;
    },
    at(event) {
      const box = this.$refs.view.getBoundingClientRect();
      return [event.clientX - box.left, event.clientY - box.top];
    },
    wheel(event) {
      const s = this.s;
      if (!s?.data) return;
      const [x, y] = this.at(event);
      const unit = event.deltaMode === 1 ? 16 : 1;
      const [across, along] = [event.deltaX * unit, event.deltaY * unit];
      if (x < s.gutter || event.altKey) s.top += along;
      else if (event.shiftKey || Math.abs(across) > Math.abs(along)) s.from += (across || along) / s.per;
      else { this.zoom(Math.exp(-along * (event.ctrlKey ? 0.01 : 0.0016)), x); return; }
      this.hold();
      this.point(x, y);
    },
    down(event) {
      const s = this.s;
      if (!s?.data || event.button > 0) return;
      this.$refs.view.setPointerCapture(event.pointerId);
      const [x, y] = this.at(event);
      s.pointers.set(event.pointerId, [x, y]);
      s.pressed = { x, y, moved: false, strip: y > s.height - STRIP && x > s.gutter };
      if (s.pressed.strip) this.slide(x);
    },
    slide(x) {
      const s = this.s;
      s.from = ((x - s.gutter) / s.plot) * s.data.last * 1.02 - s.plot / s.per / 2;
      this.hold();
    },
    move(event) {
      const s = this.s;
      if (!s?.data) return;
      const [x, y] = this.at(event);
      const last = s.pointers.get(event.pointerId);
      if (!last) { this.point(x, y); return; }
      if (s.pointers.size === 2) {
        const other = [...s.pointers].find(([id]) => id !== event.pointerId)[1];
        const [before, after] = [Math.hypot(last[0] - other[0], last[1] - other[1]), Math.hypot(x - other[0], y - other[1])];
        if (before > 8) this.zoom(after / before, (x + other[0]) / 2);
        s.pressed.moved = true;
      } else if (s.pressed.strip) {
        this.slide(x);
      } else if (s.pressed.moved || Math.hypot(x - s.pressed.x, y - s.pressed.y) > 4) {
        s.pressed.moved = true;
        s.from -= (x - last[0]) / s.per;
        s.top -= y - last[1];
        this.hideTip();
        this.hold();
      }
      s.pointers.set(event.pointerId, [x, y]);
    },
    up(event) {
      const s = this.s;
      if (!s?.pointers.delete(event.pointerId)) return;
      if (s.pressed.moved || s.pressed.strip || event.type === "pointercancel") return;
      const [x, y] = this.at(event);
      const operation = this.find(x, y);
      s.focus = operation;
      this.pick(operation);
    },
    leave() {
      if (!this.s?.data) return;
      this.s.hover = null;
      this.hideTip();
      this.drawOver();
    },
    point(x, y) {
      const s = this.s;
      const operation = this.find(x, y);
      this.$refs.view.style.cursor = operation ? "pointer" : "default";
      if (operation !== s.hover) {
        s.hover = operation;
        this.drawOver();
        if (operation) this.fillTip(operation); else this.hideTip();
      }
      if (operation) this.placeTip(x, y);
    },
    facts(operation) {
      const order = this.s.data.work_orders[operation[ORDER]];
      const facts = [
        ["work order", `${order.number}, step ${operation[STEP]}`],
        ["quantity", order.quantity],
        ["from", this.words(operation[START])],
        ["to", this.words(operation[END])],
        ["work", spanWords(operation[RUN])],
      ];
      if (operation[CHANGE]) facts.push(["changeover", spanWords(operation[CHANGE])]);
      if (operation[WAIT]) facts.push(["then waits", spanWords(operation[WAIT])]);
      facts.push(["due", this.words(order.due) + (order.late ? `, late ${order.late_words}` : "")]);
      return facts;
    },
    fillTip(operation) {
      const order = this.s.data.work_orders[operation[ORDER]];
      const tip = this.$refs.tip;
      const part = (tag, words, kind) => {
        const made = document.createElement(tag);
        made.textContent = words;
        if (kind) made.className = kind;
        return made;
      };
      const list = document.createElement("dl");
      for (const [label, words] of this.facts(operation)) list.append(part("dt", label), part("dd", words));
      tip.replaceChildren(part("b", operation[NAME]), part("span", ` ${order.name}`), list);
      if (operation[REASON]) tip.append(part("p", `Not earlier: ${operation[REASON]}`, "aside"));
      tip.hidden = false;
    },
    placeTip(x, y) {
      const tip = this.$refs.tip;
      const left = x + 18 + tip.offsetWidth > this.s.width ? x - tip.offsetWidth - 12 : x + 18;
      const top = y + 18 + tip.offsetHeight > this.s.height ? y - tip.offsetHeight - 8 : y + 18;
      tip.style.transform = `translate(${Math.max(2, left)}px, ${Math.max(2, top)}px)`;
    },
    hideTip() { this.$refs.tip.hidden = true; },
    pick(operation) {
      const s = this.s;
      s.picked = operation ? operation[ORDER] : -1;
      s.chain = operation ? this.chainOf(operation[ORDER]) : null;
      this.dirty();
      this.$emit("pick", operation ? s.data.work_orders[s.picked].number : "");
    },
    chainOf(order) {
      const chain = new Set([order]);
      for (const next of [(at) => this.s.data.work_orders[at].needs, (at) => this.s.users[at]]) {
        const open = [order];
        while (open.length) for (const at of next(open.pop())) if (!chain.has(at)) { chain.add(at); open.push(at); }
      }
      return chain;
    },
    show(number) {
      const s = this.s;
      const order = s.data?.work_orders.findIndex((one) => one.number === number) ?? -1;
      if (order < 0 || !s.of[order].length) return;
      s.focus = s.of[order][0];
      s.picked = order;
      s.chain = this.chainOf(order);
      this.reveal(s.focus);
    },

    // Keys ----------------------------------------------------------------------------------------
    key(event) {
      const s = this.s;
      if (!s?.data || event.ctrlKey || event.metaKey || event.altKey) return;
      const seen = s.plot / s.per;
      const pan = { ArrowLeft: [-0.25, 0], ArrowRight: [0.25, 0], ArrowUp: [0, -2], ArrowDown: [0, 2] }[event.key];
      if (pan && event.shiftKey) {
        s.from += pan[0] * seen;
        s.top += pan[1] * s.row;
        this.hold();
      } else if (pan) {
        this.step(event.key);
      } else if (event.key === "+" || event.key === "=") this.zoom(1.5, s.focus ? this.x(s.focus[START]) : undefined);
      else if (event.key === "-") this.zoom(1 / 1.5, s.focus ? this.x(s.focus[START]) : undefined);
      else if (event.key === "0") this.span(0, 0);
      else if (event.key === "w") this.span(7 * 1440);
      else if (event.key === "d") this.span(1440);
      else if (event.key === "s") this.span(480);
      else if (event.key === "PageUp" || event.key === "PageDown") { s.from += (event.key === "PageUp" ? -0.9 : 0.9) * seen; this.hold(); }
      else if (event.key === "Home") { s.from = 0; this.hold(); }
      else if (event.key === "End") { s.from = s.data.last - seen; this.hold(); }
      else if (event.key === "Enter" && s.focus) this.pick(s.focus);
      else if (event.key === "Escape") { s.focus = null; this.pick(null); window.naptuft.say(""); }
      else return;
      event.preventDefault();
    },
    step(way) {
      const s = this.s;
      let next = null;
      if (!s.focus) {
        next = s.rows.flat().find((operation) => operation[END] >= s.from) || s.data.operations[0];
      } else if (way === "ArrowLeft" || way === "ArrowRight") {
        const row = s.rows[s.focus[MACHINE]];
        next = row[row.indexOf(s.focus) + (way === "ArrowLeft" ? -1 : 1)];
      } else {
        const turn = way === "ArrowUp" ? -1 : 1;
        for (let row = s.focus[MACHINE] + turn; row >= 0 && row < s.rows.length && !next; row += turn) {
          next = s.rows[row].reduce((best, one) => (!best || Math.abs(one[START] - s.focus[START]) < Math.abs(best[START] - s.focus[START]) ? one : best), null);
        }
      }
      if (!next) return;
      s.focus = next;
      this.reveal(next);
      const machine = s.data.machines[next[MACHINE]].code;
      const order = s.data.work_orders[next[ORDER]];
      window.naptuft.say(`${machine}: ${next[NAME]}, ${order.product}, ${order.number}, ${this.words(next[START])} to ${this.words(next[END])}. ${next[REASON]}`, 0);
    },
  },
};
