/* A car's page while somebody works at it. Without this script every button does the same with a whole page.
   Change: what is typed is planned at once; only what moved is repainted, and it stays marked until it is kept.
   Light: a field in hand lights its dimension. Parts: . and , step through the drawing. Keys: see the list under ?. */
"use strict";
(() => {
  const desk = document.getElementById("desk");
  const form = document.getElementById("measures");
  if (!desk || !form) return;
  const FOLLOW_MS = 80, STUDY_MS = 150;
  const at = `/car/${encodeURIComponent(desk.dataset.slug)}`;
  const page = Math.random().toString(36).slice(2);
  const byId = (id) => document.getElementById(id);
  const say = (text) => { byId("said").textContent = text; };
  const inputs = () => form.querySelectorAll("[data-saved]");
  const slotOf = (input) => input.closest(".slot");
  const good = new Map();
  const touched = new Set(), fresh = new Set();
  /* what was typed, and neither kept nor taken back, stands in its fields again when this window comes back to the car */
  const draft = `carwright ${desk.dataset.slug}`;
  let sent = false, restored = false;
  try {
    for (const [name, text] of JSON.parse(sessionStorage.getItem(draft) || "[]")) {
      const input = [...inputs()].find((each) => each.name === name);
      if (input && !byId("changed").firstElementChild) { input.value = text; restored = true; }
    }
    sessionStorage.removeItem(draft);
    form.addEventListener("submit", () => { sent = true; });
    addEventListener("pagehide", () => {
      const typed = [...touched].filter((each) => each.value !== each.dataset.saved).map((each) => [each.name, each.value]);
      if (typed.length && !sent) sessionStorage.setItem(draft, JSON.stringify(typed));
    });
  } catch { /* a browser that keeps nothing for a page */ }
  for (const each of inputs()) if (each.value !== each.dataset.saved) {
    touched.add(each);
    if (!each.matches("[aria-invalid]")) good.set(each.name, each.value);
  }
  for (const each of form.querySelectorAll("[name^='good:']")) { good.set(each.name.slice(5), each.value); each.remove(); }
  form.addEventListener("formdata", (event) => { for (const [slot, text] of good) event.formData.set(`good:${slot}`, text); });

  /* ------------------------------------------------------------------ planning */
  let followed = desk.dataset.plan, followTimer = 0;
  let busy = false, again = false, keeping = false, studyTimer = 0, studying = null;
  const body = (more = {}) => {
    const data = new URLSearchParams({ base: desk.dataset.base, at: desk.dataset.view, page, ...more });
    for (const each of touched) {
      data.set(each.name, each.value);
      if (good.has(each.name)) data.set(`good:${each.name}`, good.get(each.name));
    }
    return data;
  };
  const post = (where, data, signal) => fetch(where, { method: "POST", body: data, signal, headers: { accept: "application/json" } });
  /* a part is repainted by changing what differs: the rest keeps its style, its place, its focus and whether it is open */
  const cache = new Map();
  const keyOf = (node) => (node.nodeType === 1 ? node.id || node.dataset.check || "" : "");
  const patch = (now, then) => {
    if (now.isEqualNode(then)) return;
    if (now.nodeType !== 1) { then.data = now.data; return; }
    for (const { name, value } of now.attributes) if (then.getAttribute(name) !== value) then.setAttribute(name, value);
    for (const { name } of [...then.attributes]) if (!now.hasAttribute(name) && !(name === "open" && then.tagName === "DETAILS")) then.removeAttribute(name);
    patchInside(now, then);
  };
  const patchInside = (now, then) => {
    const keyed = new Map();
    for (const child of then.children) { const key = keyOf(child); if (key) keyed.set(key, child); }
    let at = then.firstChild;
    for (const child of [...now.childNodes]) {
      const key = keyOf(child), same = key ? keyed.get(key) : at;
      if (key) keyed.delete(key);
      if (!same || same.nodeName !== child.nodeName || keyOf(same) !== key) { then.insertBefore(child, at); continue; }
      if (same === at) at = at.nextSibling; else then.insertBefore(same, at);
      patch(child, same);
    }
    while (at) { const next = at.nextSibling; at.remove(); at = next; }
  };
  const repaint = (id, html) => {
    if (cache.get(id) === html) return;
    const box = byId(id), held = document.activeElement, holds = box.contains(held), made = document.createElement("template");
    const was = { tag: held.tagName, name: held.name, value: held.value, goto: (held.dataset && held.dataset.goto) || "" };
    made.innerHTML = html;
    patchInside(made.content, box);
    cache.set(id, html);
    if (!holds || document.activeElement === held) return;
    const again = held.isConnected ? held : [...box.querySelectorAll(was.tag)].find((each) => each.name === was.name && each.value === was.value && (each.dataset.goto || "") === was.goto);
    if (again) again.focus({ preventScroll: true });
  };
  /* no wait before planning: one plan is asked for at a time, and what is typed meanwhile goes into the next */
  const plan = async () => {
    if (busy) { again = true; return; }
    busy = true;
    clearTimeout(studyTimer);
    clearTimeout(followTimer);
    stale("studies");
    try {
      const last = [...fresh].slice(0, 8).join(" ");
      fresh.clear();
      const answer = await post(`${at}/plan`, body(last && last.length < 200 ? { last } : {}));
      if (!answer.ok) throw new Error(`${answer.status}`);
      show(await answer.json());
    } catch (trouble) {
      const lost = "The plan could not be made: is the program still running? What stands in the fields is still here.";
      say(lost);
      byId("elsewhere").innerHTML = '<div class="changed"><p></p></div>';
      byId("elsewhere").querySelector("p").textContent = lost;
    }
    busy = false;
    if (again) { again = false; plan(); return; }
    clearTimeout(followTimer);
    followTimer = setTimeout(follow, FOLLOW_MS);
    studySoon();
    if (keeping) keep();
  };
  /* what is still being planned is kept as soon as its plan is there: the button belongs to the plan before */
  const keep = () => {
    keeping = busy;
    if (busy) return;
    const button = document.querySelector("#changed [value=keep]");
    if (button && !button.disabled) button.click();
    else say(button ? "Nothing that can be kept: mend the field that is marked first." : "Nothing is changed.");
  };
  const follow = async () => {
    const key = desk.dataset.plan;
    if (followed === key) return;
    try {
      const answer = await post(`${at}/follow`, body());
      if (answer.status !== 200) return;  // a newer change came first, and asks for its own
      const told = await answer.json();
      if (told.key !== desk.dataset.plan) return;
      followed = key;
      for (const id of ["heights", "ways", "pieces"]) { repaint(id, told[id]); byId(id).classList.remove("stale"); }
      const summary = byId("summary");
      if (summary) summary.textContent = told.summary;
      choose(chosen, false);
      if (told.said) say(told.said);
    } catch (trouble) { /* told by the next plan */ }
  };
  const show = (told) => {
    desk.dataset.plan = told.key;
    repaint("drawing", told.drawing);
    repaint("findings", told.findings);
    repaint("changed", told.changed);
    for (const [slot, each] of Object.entries(told.slots)) {
      const input = byId(`m-${slot}`), box = slotOf(input);
      box.classList.toggle("bad", Boolean(each.wrong));
      byId(`e-${slot}`).innerHTML = each.echo;
      box.querySelector(".wrong").innerHTML = each.wrong;
      const tolerance = box.querySelector(".tol");
      if (tolerance) tolerance.textContent = each.tolerance;
      if (each.wrong) { input.setAttribute("aria-invalid", "true"); input.setAttribute("aria-describedby", `x-${slot} e-${slot} h-${pathOf(slot)}`); }
      else { input.removeAttribute("aria-invalid"); input.setAttribute("aria-describedby", `e-${slot} h-${pathOf(slot)}`); good.set(slot, input.value); }
    }
    byId("revision").textContent = desk.dataset.base + (told.moved ? ", changed" : "");
    light(document.activeElement);
    choose(chosen, false);
    desk.dispatchEvent(new CustomEvent("carwright:planned", { bubbles: true, detail: told.key }));
    if (followed !== told.key) for (const id of ["heights", "ways", "pieces"]) stale(id);
    if (byId("why").firstElementChild) stale("why");
  };
  const stale = (id) => byId(id).classList.add("stale");

  form.addEventListener("input", (event) => {
    if (!event.target.matches("[data-saved]")) return;
    touched.add(event.target);
    fresh.add(event.target.name);
    plan();
  });
  /* what every reading hangs on is taken with a whole new page */
  form.addEventListener("change", (event) => {
    if (["car.units", "car.measured_with", "car.standard", "car.scale"].includes(event.target.name)) form.querySelector("button[value=plan]").click();
  });
  form.addEventListener("focusin", (event) => { if (event.target.matches("[data-saved]")) { event.target.dataset.before = event.target.value; light(event.target, true); } });
  form.addEventListener("focusout", () => light(null));

  /* ------------------------------------------------------------------ studies: shown only with the plan that they belong to */
  const studySoon = () => { clearTimeout(studyTimer); studyTimer = setTimeout(study, STUDY_MS); };
  const studiesLost = () => {
    byId("study-state").textContent = "The studies could not be made.";
    for (const each of byId("findings").querySelectorAll("[data-waits] .inwork")) each.textContent = "This list is not whole: the curve and the ballast could not be worked out.";
  };
  const study = async () => {
    const state = byId("study-state"), key = desk.dataset.plan;
    if (byId("studies").dataset.plan === key && !byId("findings").querySelector("[data-waits]")) { byId("studies").classList.remove("stale"); return; }
    state.textContent = "Working: the curve and the ballast. What stands below belongs to the plan before.";
    if (!byId("study-parts").firstElementChild) state.textContent = "Working: the curve and the ballast.";
    if (studying) studying.abort();
    studying = new AbortController();
    try {
      const answer = await post(`${at}/studies`, body(), studying.signal);
      if (answer.status !== 200) { if (answer.status !== 204) studiesLost(); return; }
      const told = await answer.json();
      if (told.key !== desk.dataset.plan) return;
      byId("studies").dataset.plan = told.key;
      byId("study-parts").innerHTML = told.studies;
      repaint("findings", told.findings);
      byId("studies").classList.remove("stale");
      state.textContent = "These belong to the plan that is shown.";
    } catch (trouble) { /* given up for a newer one */ }
  };

  /* ------------------------------------------------------------------ the dimension of the field in hand */
  const drawing = byId("drawing");
  const pathOf = (slot) => slot.replace(/\[\d+\](?=\.)/g, "[]").replace(/\[\d+\]$/, "").replace(/^([a-z]+)\.[ab]\./, "$1.").replace(/\.[ab]$/, "");
  /* the field in hand shows where it is measured */
  const pictures = new Map(), box = document.createElement("div");
  box.className = "fieldpicture";
  const picture = async (field, slot) => {
    const path = field.dataset.picture || "";
    if (slot.nextElementSibling !== box) slot.after(box);
    if (box.dataset.of === path) return;
    box.dataset.of = path;
    if (path && !pictures.has(path)) pictures.set(path, fetch(`/measure/${encodeURIComponent(path)}.svg`).then((answer) => (answer.ok ? answer.text() : "")).catch(() => ""));
    const drawn = path ? await pictures.get(path) : "";
    if (box.dataset.of === path) box.innerHTML = drawn;
  };
  const light = (input, told = false) => {
    for (const each of document.querySelectorAll(".live")) each.classList.remove("live");
    if (!input || !input.matches || !input.matches("[data-saved]")) return;
    const field = input.closest(".field");
    field.classList.add("live");
    if (told) picture(field, slotOf(input));
    if (told) byId("part").replaceChildren(Object.assign(document.createElement("b"), { textContent: field.dataset.letter }), ` ${field.querySelector(".how p").textContent}`);
    const dims = [...drawing.querySelectorAll("[data-key]")];
    const exact = dims.filter((each) => each.dataset.key === input.name);
    const path = pathOf(input.name);
    for (const each of exact.length ? exact : dims.filter((one) => pathOf(one.dataset.key) === path)) each.classList.add("live");
  };
  const goTo = (path) => {
    const field = form.querySelector(`[data-path="${CSS.escape(pathOf(path))}"]`);
    let input = byId(`m-${path}`) || (field && field.querySelector("[data-saved]"));
    if (!input) return false;
    /* where each end has its own, the box for both is empty and counts for neither */
    if (field && !input.value && !input.closest(".apart")) input = [...field.querySelectorAll(".apart [data-saved]")].find((each) => each.value) || input;
    for (let box = input.parentElement; box; box = box.parentElement) if (box.tagName === "DETAILS") box.open = true;
    input.focus();
    input.select?.();
    return true;
  };

  /* ------------------------------------------------------------------ parts */
  let chosen = "";
  const rows = () => [...document.querySelectorAll("#pieces [data-parts]")];
  const rowOf = (part) => rows().find((each) => each.dataset.parts.split(" ").includes(part));
  const parts = (cell, between) => [...cell.childNodes].filter((each) => each.nodeName !== "#text" || each.textContent.trim()).map((each) => {
    if (each.nodeName === "BR") return document.createTextNode(between);
    const copy = each.cloneNode(true);
    copy.removeAttribute?.("id");
    return copy;
  });
  const choose = (part, told = true) => {
    for (const each of document.querySelectorAll(".lit")) each.classList.remove("lit");
    chosen = part;
    if (!part) return;
    const row = rowOf(part);
    const names = row ? row.dataset.parts.split(" ") : [part];
    for (const name of names) for (const each of drawing.querySelectorAll(`[data-part="${CSS.escape(name)}"]`)) each.classList.add("lit");
    if (row) row.classList.add("lit");
    if (!told) return;
    const box = byId("part");
    if (!row) {
      const title = drawing.querySelector(`[data-part="${CSS.escape(part)}"] > title`);
      box.textContent = title ? title.textContent : part.replaceAll("_", " ");
      return;
    }
    const cells = row.children;
    const line = document.createElement("span");
    const name = document.createElement("b");
    name.textContent = cells[0].textContent + (cells[1].textContent.trim() === "1" ? "" : `, ${cells[1].textContent.trim()}`);
    line.append(name, ": ", ...parts(cells[2], ", "));
    if (cells[3].textContent.trim()) line.append(". Holes: ", ...parts(cells[3], "; "));
    box.replaceChildren(line);
  };
  const step = (by) => {
    const names = [...new Set([...drawing.querySelectorAll("[data-part]")].map((each) => each.dataset.part))].filter((name) => rowOf(name));
    const firsts = [...new Set(names.map((name) => rowOf(name)))];
    if (!firsts.length) return;
    const here = firsts.indexOf(rowOf(chosen));
    const next = firsts[(here + by + firsts.length + (here < 0 && by < 0 ? 1 : 0)) % firsts.length];
    choose(next.dataset.parts.split(" ").find((name) => names.includes(name)));
  };
  drawing.addEventListener("pointerover", (event) => {
    const part = event.target.closest?.("[data-part]");
    if (part && part.dataset.part !== chosen && event.pointerType !== "touch") choose(part.dataset.part);
  });
  drawing.addEventListener("click", (event) => {
    const dim = event.target.closest?.("[data-key]");
    if (dim && dim.dataset.key && goTo(dim.dataset.key)) return;
    const part = event.target.closest?.("[data-part]");
    if (part) choose(part.dataset.part);
  });

  /* ------------------------------------------------------------------ buttons */
  const view = (name) => {
    desk.dataset.view = name;
    for (const each of document.querySelectorAll(".views button")) each.setAttribute("aria-pressed", String(each.value === name));
    drawing.className = `scroll of-${name}`;
    form.elements.at.value = name;
    choose("");
    return plan();
  };
  const why = async (path) => {
    const answer = await post(`${at}/why`, body({ why: path }));
    if (!answer.ok) { say("That number is not known yet."); return; }
    const told = await answer.json();
    byId("why").innerHTML = told.why;
    byId("why").classList.toggle("stale", told.key !== desk.dataset.plan);
    byId("why-head").focus();
    byId("why-head").scrollIntoView({ block: "nearest" });
  };
  const back = () => {
    for (const each of touched) each.value = each.dataset.saved;
    good.clear();
    const told = `Gone back to revision ${desk.dataset.base}; nothing was saved.`;
    return plan().then(() => {
      if (busy) return;
      touched.clear();
      if (!byId("changed").querySelector(".changed")) repaint("changed", `<div class="changed"><p>${told}</p></div>`);
      say(told);
    });
  };
  /* nothing is changed: what leads back then is said */
  const unchanged = () => {
    const base = Number(desk.dataset.base), told = `Nothing is changed here; the last save is revision ${base}.`;
    const text = document.createElement("p"), box = document.createElement("div"), link = document.createElement("a");
    text.textContent = `${told} `;
    if (base > 1) {
      link.href = `/files/${encodeURIComponent(desk.dataset.slug)}`;
      link.textContent = "Revisions";
      text.append(link, " leads back to an earlier one.");
    }
    box.className = "changed";
    box.append(text);
    if (!byId("changed").firstElementChild) byId("changed").replaceChildren(box);
    cache.delete("changed");
    say(text.textContent);
  };
  /* one box goes back, the others stay as they are */
  const undo = (slot) => {
    const input = byId(`m-${slot}`);
    input.value = input.dataset.saved;
    good.delete(slot);
    fresh.add(slot);
    input.focus();
    say("Gone back to what was saved.");
    plan().then(() => { if (!busy) touched.delete(input); });
  };
  document.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    const jump = event.target.closest("[data-goto]");
    if (jump && goTo(jump.dataset.goto)) { event.preventDefault(); return; }
    if (!button || button.form !== form) return;
    if (button.name === "view") { event.preventDefault(); view(button.value); }
    else if (button.name === "why") { event.preventDefault(); why(button.value); }
    else if (button.name === "undo") { event.preventDefault(); undo(button.value); }
    else if (button.name === "do" && button.value === "back") { event.preventDefault(); back(); }
    else if (button.name === "do" && button.value === "study") { event.preventDefault(); study(); }
  });

  /* ------------------------------------------------------------------ keys */
  const least = (input) => {
    const text = input.value.trim(), fraction = /^(?:(\d+)[ -])?(\d+)\/(\d+)$/.exec(text), number = /^([+-]?)(\d*)(?:\.(\d*))?(\D*)$/.exec(text);
    if (fraction) return { kind: "fraction", whole: Number(fraction[1] || 0), above: Number(fraction[2]), below: Number(fraction[3]) };
    if (number && (number[2] || number[3])) return { kind: "decimal", value: Number(`${number[1]}${number[2] || "0"}.${number[3] || "0"}`), places: (number[3] || "").length, after: number[4] };
    return null;
  };
  const nudge = (input, by) => {
    const found = least(input);
    if (!found) return;
    if (found.kind === "decimal") input.value = (found.value + by * 10 ** -found.places).toFixed(found.places) + found.after;
    else {
      const below = Math.max(found.below, 64), parts = (found.whole * found.below + found.above) * (below / found.below) + by;
      if (parts < 0) return;
      const common = (a, b) => (b ? common(b, a % b) : a), whole = Math.floor(parts / below), rest = parts % below, k = common(rest, below) || 1;
      input.value = rest ? `${whole ? `${whole} ` : ""}${rest / k}/${below / k}` : `${whole}`;
    }
    input.dispatchEvent(new Event("input", { bubbles: true }));
  };
  const off = () => document.cookie.split("; ").includes("keys=off");
  const whyOf = () => {
    const held = document.activeElement;
    const near = held && held.closest("li, tr, .finding");
    return (held && held.name === "why" && held.value) || (near && near.querySelector("[name=why]")?.value) || document.querySelector("#findings [name=why]")?.value;
  };
  /* a letter with figures behind it, T12: the figures follow within a second, and are no views then */
  let typed = "", typedTimer = 0;
  const lettered = (key) => {
    clearTimeout(typedTimer);
    const letters = [...form.querySelectorAll("[data-letter]")], begun = typed && /\d/.test(key) ? typed + key : key.toUpperCase();
    const found = letters.find((each) => each.dataset.letter === begun);
    const more = letters.some((each) => each !== found && each.dataset.letter.startsWith(begun));
    typed = more ? begun : "";
    if (more) typedTimer = setTimeout(() => { typed = ""; if (found) goTo(found.dataset.path); }, 1000);
    else if (found) goTo(found.dataset.path);
    return Boolean(found || more);
  };
  document.addEventListener("keydown", (event) => {
    const target = event.target, field = target.matches && target.matches("[data-saved]");
    if (event.ctrlKey || event.metaKey) {
      if (event.key === "Enter") { event.preventDefault(); keep(); }
      else if (event.key === "z" && !event.shiftKey && !field) {
        event.preventDefault();
        if ([...touched].some((each) => each.value !== each.dataset.saved)) back(); else unchanged();
      }
      return;
    }
    if (event.altKey) return;
    if (field) {
      if (event.key === "Enter") { event.preventDefault(); plan(); }
      else if (event.key === "Escape") { target.value = target.dataset.before ?? target.dataset.saved; target.dispatchEvent(new Event("input", { bubbles: true })); }
      else if ((event.key === "ArrowUp" || event.key === "ArrowDown") && target.tagName === "INPUT") { if (least(target)) { event.preventDefault(); nudge(target, event.key === "ArrowUp" ? 1 : -1); } }
      return;
    }
    if (off() || /^(INPUT|TEXTAREA|SELECT)$/.test(target.tagName) || document.querySelector("dialog[open]")) return;
    if (typed && /^\d$/.test(event.key)) { if (lettered(event.key)) event.preventDefault(); }
    else if (/^[1-9]$/.test(event.key)) { const button = document.querySelectorAll(".views button")[Number(event.key) - 1]; if (button) { event.preventDefault(); view(button.value); } }
    else if (event.key === "." || event.key === ",") { event.preventDefault(); step(event.key === "." ? 1 : -1); }
    else if (event.key === "w") { const path = whyOf(); lettered("W"); if (path) { event.preventDefault(); why(path); } }
    else if (/^[a-z]$/i.test(event.key) && lettered(event.key)) event.preventDefault();
  });

  /* ------------------------------------------------------------------ saved in another window */
  document.addEventListener("carwright:change", (event) => {
    const change = event.detail;
    if (change.slug !== desk.dataset.slug || !["revision", "choice"].includes(change.kind) || String(change.revision) === desk.dataset.base) return;
    const box = document.createElement("div"), text = document.createElement("p"), acts = document.createElement("div"), link = document.createElement("a");
    box.className = "changed";
    acts.className = "acts";
    text.textContent = touched.size ? `${change.said} What you changed here is not lost: keep it, and both are shown with a choice.` : change.said;
    link.className = "button";
    link.href = `${at}?view=${encodeURIComponent(desk.dataset.view)}`;
    link.textContent = "Show it";
    acts.append(link);
    box.append(text, acts);
    byId("elsewhere").replaceChildren(box);
    say(change.said);
  });

  document.documentElement.classList.add("scripted");
  for (const id of ["drawing", "findings", "changed", "heights", "ways", "pieces"]) cache.set(id, null);
  if (restored) { say("What you had typed and not kept stands in its fields again."); plan(); }
  studySoon();
})();
