// What the page does by itself: theme, keys, the chosen engine speed told to every chart. Everything else is told to the server.
(() => {
  const root = document.documentElement;
  const kept = (name, fallback) => { try { return localStorage.getItem(name) || fallback; } catch { return fallback; } };
  const keep = (name, value) => { try { localStorage.setItem(name, value); } catch { /* a private window */ } };
  const dark = matchMedia("(prefers-color-scheme: dark)");
  const apply = (choice) => {
    root.dataset.theme = choice === "auto" ? (dark.matches ? "dark" : "light") : choice;
    window.dispatchEvent(new Event("bench-theme"));
  };
  apply(kept("bench-theme", "auto"));
  dark.addEventListener("change", () => apply(kept("bench-theme", "auto")));

  const bench = { speed: null, letters: kept("bench-letters", "on") === "on" };
  window.bench = bench;
  bench.theme = (choice) => { keep("bench-theme", choice); apply(choice); };
  bench.themeChoice = () => kept("bench-theme", "auto");
  bench.setLetters = (on) => { bench.letters = on; keep("bench-letters", on ? "on" : "off"); };
  bench.setSpeed = (rpm) => {
    bench.speed = rpm;
    window.dispatchEvent(new CustomEvent("bench-speed", { detail: rpm }));
  };

  const press = (name) => {
    const target = [...document.querySelectorAll(`[data-key="${name}"]`)].find((one) => !one.disabled && one.offsetParent !== null);
    if (target) target.click();
    return Boolean(target);
  };
  const overlay = () => [...document.querySelectorAll(".over")].find((one) => !one.hidden);
  bench.open = (id) => {
    const over = document.getElementById(id);
    bench.back = document.activeElement;
    over.hidden = false;
    (over.querySelector("input.search") || over.querySelector("button")).focus();
  };
  bench.close = () => {
    const over = overlay();
    if (!over) return false;
    over.hidden = true;
    bench.back?.focus?.();
    return true;
  };
  const stayInside = (event) => {
    const over = overlay();
    if (!over || event.key !== "Tab") return;
    const stops = [...over.querySelectorAll("button,input,select,a[href]")].filter((one) => one.offsetParent !== null && !one.disabled);
    const end = event.shiftKey ? stops[0] : stops[stops.length - 1];
    if (document.activeElement !== end && over.contains(document.activeElement)) return;
    event.preventDefault();
    (event.shiftKey ? stops[stops.length - 1] : stops[0])?.focus();
  };
  window.addEventListener("keydown", stayInside);
  const findings = () => [...document.querySelectorAll(".fd > button")].filter((one) => one.offsetParent !== null);
  const step = (by) => {
    const rows = findings();
    if (!rows.length) return;
    const at = rows.indexOf(document.activeElement);
    rows[Math.min(Math.max(at + by, 0), rows.length - 1)].focus();
  };
  const slide = (event, sign) => {
    const slider = document.querySelector("input.speed");
    if (!slider || slider.disabled) return;
    const by = event.shiftKey ? Number(slider.dataset.leap || 1) : 1;
    const to = Math.min(Math.max(Number(slider.value) + sign * by, Number(slider.min)), Number(slider.max));
    if (to === Number(slider.value)) return;
    slider.value = to;
    slider.dispatchEvent(new Event("input", { bubbles: true }));
  };
  const typing = (target) => target.closest?.("input:not(.speed),textarea,select,[contenteditable]");
  window.addEventListener("keydown", (event) => {
    const key = event.key.toLowerCase();
    if ((event.ctrlKey || event.metaKey) && key === "z" && !typing(event.target)) {
      event.preventDefault();
      press(event.shiftKey ? "redo" : "undo");
      return;
    }
    if (event.altKey && /^[1-9]$/.test(event.key)) {
      const link = document.querySelectorAll(".ph a")[Number(event.key) - 1];
      if (link) { event.preventDefault(); link.click(); }
      return;
    }
    if (event.key === "Escape") {
      if (bench.close()) return;
      if (!typing(event.target)) press("escape");
      return;
    }
    if (event.ctrlKey || event.metaKey || event.altKey || typing(event.target) || overlay()) return;
    if (key === "arrowleft" || key === "arrowright") {
      const held = event.target.closest?.('.plot,[role="radio"],[role="tab"],.scroll,input[type="range"]:not(.speed),input[type="radio"]');
      if (held) return;
      event.preventDefault();
      slide(event, key === "arrowleft" ? -1 : 1);
      return;
    }
    if (!bench.letters) return;
    if (event.key === "/") { event.preventDefault(); bench.open("find"); }
    else if (event.key === "?") { event.preventDefault(); bench.open("keys"); }
    else if (key === "j") step(1);
    else if (key === "k") step(-1);
    else if (/^[a-z]$/.test(key) && !event.shiftKey) press(key);
  });
  document.addEventListener("click", (event) => {
    const presser = event.target.closest("[data-press]");
    if (presser) document.querySelector(`[data-key="${presser.dataset.press}"]`)?.click();
    const opener = event.target.closest("[data-open]");
    if (opener) bench.open(opener.dataset.open);
    if (event.target.classList?.contains("over") || event.target.closest("[data-close]")) bench.close();
  });
})();
