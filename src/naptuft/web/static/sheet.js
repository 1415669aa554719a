// Keys and choices that hold on every sheet: digits jump, the paper is light or dark, words are copied.
(() => {
  const root = document.documentElement;
  const dusk = matchMedia("(prefers-color-scheme: dark)");

  function choice() {
    try { return localStorage.getItem("naptuft-paper") || "system"; } catch { return "system"; }
  }
  function lay() {
    const wanted = choice();
    root.dataset.paper = wanted === "system" ? (dusk.matches ? "dark" : "light") : wanted;
    for (const button of document.querySelectorAll("[data-paper-choice]")) {
      button.setAttribute("aria-pressed", String(button.dataset.paperChoice === wanted));
    }
    window.dispatchEvent(new Event("paper"));
  }
  dusk.addEventListener("change", lay);
  lay();
  new MutationObserver((_, watcher) => {
    if (!document.querySelector("[data-paper-choice]")) return;
    watcher.disconnect();
    lay();
    document.querySelector(".bench-index [aria-current]")?.scrollIntoView({ block: "nearest" });
  }).observe(root, { childList: true, subtree: true });

  let hush = 0;
  function say(words, seconds = 6) {
    const line = document.querySelector(".notes .said");
    if (!line) return;
    clearTimeout(hush);
    line.textContent = words;
    if (words && seconds) hush = setTimeout(() => say(""), seconds * 1000);
  }

  async function copy(words, what) {
    try {
      await navigator.clipboard.writeText(words);
    } catch {
      const area = document.createElement("textarea");
      area.value = words;
      area.style.position = "fixed";
      area.style.opacity = "0";
      document.body.append(area);
      area.select();
      document.execCommand("copy");
      area.remove();
    }
    say(`Copied ${what}.`);
  }

  document.addEventListener("click", (event) => {
    const paper = event.target.closest("[data-paper-choice]");
    if (paper) {
      try { localStorage.setItem("naptuft-paper", paper.dataset.paperChoice); } catch { /* private window */ }
      lay();
    }
    const source = event.target.closest("[data-copy]");
    if (source) copy(document.getElementById(source.dataset.copy).textContent, source.dataset.what || "it");
  });

  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.target.closest("input, select, textarea, [contenteditable]")) return;
    if (event.key === "?") {
      const keys = document.querySelector("details.keys");
      if (keys) keys.open = !keys.open;
    }
    if (event.key === "Escape") document.querySelector("details.keys[open]")?.removeAttribute("open");
    if (event.key === "[" || event.key === "]") {
      const ways = [...document.querySelectorAll(".ways a")];
      const at = ways.findIndex((way) => way.hasAttribute("aria-current"));
      if (ways.length) ways[(at + (event.key === "]" ? 1 : -1) + ways.length) % ways.length].click();
    }
    if (/^[1-9]$/.test(event.key)) {
      const link = document.querySelector(`.index a[data-sheet="${event.key}"]`);
      if (link) { event.preventDefault(); link.click(); }
    }
  });

  window.naptuft = { say, copy };
})();
