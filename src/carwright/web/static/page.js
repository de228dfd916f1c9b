/* What every page gains from a script; without it each form and link works by itself.
   Parts: a form or link with data-part="id" fetches the page it leads to and puts only that part in place.
   Live: what changes in the shop elsewhere is said, and an element with data-live is fetched again.
   Keys: ? shows the list, / goes to the search. They can be switched off on that list. */
"use strict";
(() => {
  const root = document.documentElement;
  const byId = (id) => document.getElementById(id);
  const say = (text) => { const at = byId("said"); if (at) at.textContent = text; };

  /* light and dark */
  const themeButton = document.querySelector("[data-theme-form] button");
  const darkNow = () => (root.dataset.theme || (matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light")) === "dark";
  const label = () => { themeButton.value = darkNow() ? "light" : "dark"; themeButton.textContent = darkNow() ? "Light" : "Dark"; };
  if (themeButton) {
    label();
    themeButton.form.addEventListener("submit", (event) => {
      event.preventDefault();
      const chosen = themeButton.value;
      root.dataset.theme = chosen;
      fetch("/theme", { method: "POST", body: new URLSearchParams({ theme: chosen, back: "/" }), redirect: "manual", keepalive: true });
      label();
      document.dispatchEvent(new CustomEvent("carwright:theme", { detail: chosen }));
    });
  }

  /* what an act saved is told once: the address that says so is not kept */
  const news = byId("news"), here = new URL(location.href);
  if (here.searchParams.has("done")) {
    here.searchParams.delete("done");
    history.replaceState(history.state, "", here);
  }
  if (news && news.textContent) setTimeout(() => say(news.textContent), 300);

  /* parts of a page */
  const put = (text, ids) => {
    const page = new DOMParser().parseFromString(text, "text/html");
    const held = document.activeElement && document.activeElement.id;
    let done = false;
    for (const id of ids) {
      const now = page.getElementById(id), then = byId(id);
      if (now && then) { then.replaceWith(now); done = true; }
    }
    if (held && byId(held) && document.activeElement !== byId(held)) byId(held).focus({ preventScroll: true });
    const news = page.getElementById("news");
    if (news && news.textContent) byId("news").textContent = news.textContent;
    const told = page.getElementById("said");
    if (told && told.textContent.trim()) say(told.textContent);
    if (done) document.dispatchEvent(new CustomEvent("carwright:part", { detail: ids }));
    return done;
  };
  const part = async (address, options, ids) => {
    const answer = await fetch(address, options);
    const text = await answer.text();
    if (!put(text, ids)) location.assign(answer.url);
    return answer;
  };
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (event.defaultPrevented || !form.dataset.part) return;
    event.preventDefault();
    byId("news").textContent = "";
    const data = new FormData(form, event.submitter);
    const files = form.enctype === "multipart/form-data";
    const fields = files ? data : new URLSearchParams(data);
    const address = (event.submitter && event.submitter.getAttribute("formaction")) || form.getAttribute("action") || location.href;
    const way = form.method === "get" ? [`${address.split("?")[0]}?${fields}`, {}] : [address, { method: "POST", body: fields }];
    part(way[0], way[1], form.dataset.part.split(" ")).catch(() => form.submit());
  });

  /* what is being made is asked for until it is there; a form that was touched meanwhile stays as it is */
  const touched = (at) => at.contains(document.activeElement) || [...at.querySelectorAll("input, option")].some((each) =>
    each.selected !== each.defaultSelected || each.checked !== each.defaultChecked || (each.type !== "checkbox" && each.value !== each.defaultValue && each.tagName === "INPUT"));
  const lookAgain = async () => {
    const at = document.querySelector("[data-wait]");
    if (!at) return;
    try {
      const text = await (await fetch(location.href)).text();
      put(text, at.dataset.wait.split(" ").filter((id) => byId(id).contains(at) || !touched(byId(id))));
      if (!document.querySelector("[data-wait]")) say(at.dataset.done);
    } catch { /* the server may be away for a moment: it is asked again */ }
    setTimeout(lookAgain, 600);
  };
  lookAgain();

  /* live */
  const since = document.body.dataset.since;
  if (since !== undefined && window.EventSource) {
    let waiting = 0;
    const again = (said) => {
      clearTimeout(waiting);
      waiting = setTimeout(() => {
        const live = [...document.querySelectorAll("[data-live]")].map((each) => each.id);
        if (live.length) part(location.href, {}, live).then(() => say(said)).catch(() => {});
      }, 120);
    };
    let source = null;
    const listen = () => {
      if (source) return;
      source = new EventSource(`/live?since=${encodeURIComponent(document.body.dataset.since)}`);
      source.addEventListener("change", (event) => {
        const change = JSON.parse(event.data);
        document.body.dataset.since = change.number;
        document.dispatchEvent(new CustomEvent("carwright:change", { detail: change }));
        again(change.said);
      });
      source.addEventListener("findings", () => again(""));
    };
    const rest = () => { if (source) source.close(); source = null; };
    /* a window that nobody sees does not listen: a browser grants one program six lines in all. It is told all when it is looked at */
    const look = () => { if (document.hidden) rest(); else listen(); };
    document.addEventListener("visibilitychange", look);
    addEventListener("pagehide", rest);
    addEventListener("pageshow", look);
    look();
  }

  /* what is reached by Tab stays in sight, also where the page above it was laid out only as it came into view */
  document.addEventListener("focusin", ({ target }) => {
    if (!target.matches(":focus-visible")) return;
    requestAnimationFrame(() => requestAnimationFrame(() => {
      if (target !== document.activeElement) return;
      const box = target.getBoundingClientRect();
      if (box.height < innerHeight / 2 && (box.top < 0 || box.bottom > innerHeight)) target.scrollIntoView({ block: "nearest" });
    }));
  });

  /* keys */
  const typing = (at) => at && (at.isContentEditable || /^(INPUT|TEXTAREA|SELECT)$/.test(at.tagName));
  const off = () => document.cookie.split("; ").includes("keys=off");
  document.addEventListener("keydown", async (event) => {
    if (event.defaultPrevented || event.ctrlKey || event.metaKey || event.altKey || typing(event.target) || off()) return;
    if (event.key === "/") {
      const find = document.querySelector("input[type=search]");
      event.preventDefault();
      if (find) { find.focus(); find.select(); } else location.assign("/?find=");
    } else if (event.key === "?") {
      event.preventDefault();
      let box = byId("keys-box");
      if (!box) {
        const page = new DOMParser().parseFromString(await (await fetch("/keys")).text(), "text/html");
        box = document.createElement("dialog");
        box.id = "keys-box";
        box.setAttribute("aria-label", "Keys");
        const close = document.createElement("form");
        close.method = "dialog";
        close.innerHTML = '<button autofocus>Close</button>';
        box.append(close, page.getElementById("keys"));
        document.body.append(box);
      }
      box.showModal();
    }
  });
})();
