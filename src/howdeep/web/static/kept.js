/* What is typed into a form of the page is kept in this browser until the server has said that it is saved.

   A form with data-keep="ADDRESS" takes part; ADDRESS is where the form is found again, and the key of what is kept.
   Each field is written to the browser's own database as it is typed, and put back when the form is shown anew. Forms
   are sent from here, so that a dropped line leaves the page as it is; the number in the form's address makes the server
   save once what comes twice. Hidden fields and passwords are never kept. Without this script every form works as ever. */
"use strict";
(() => {
  const STORE = "typed", DAYS = 30, PATIENCE = 60000, WAITS = [2, 4, 8, 15];
  const NEVER = new Set(["hidden", "password", "submit", "button", "reset", "image"]);
  if (!window.fetch || !window.indexedDB || typeof SubmitEvent === "undefined" || !("submitter" in SubmitEvent.prototype)) return;

  /* The database */

  let opening;
  function opened() {
    opening = opening || new Promise((done, failed) => {
      const asked = indexedDB.open("howdeep", 1);
      asked.onupgradeneeded = () => asked.result.createObjectStore(STORE, { keyPath: "at" });
      asked.onsuccess = () => done(asked.result);
      asked.onerror = () => failed(asked.error);
    });
    return opening;
  }
  /* One step with the store; it is on the disk when the promise is kept. Where nothing can be kept it gives undefined. */
  async function stored(mode, step) {
    try {
      const work = (await opened()).transaction(STORE, mode, { durability: "strict" });
      const asked = step(work.objectStore(STORE));
      return await new Promise((done, failed) => {
        work.oncomplete = () => done(asked && asked.result);
        work.onabort = () => failed(work.error);
      });
    } catch (error) {
      return undefined;
    }
  }
  /* Change what is kept of one form; a record without fields goes. */
  function changed(at, change) {
    return stored("readwrite", store => {
      const asked = store.get(at);
      asked.onsuccess = () => {
        const record = asked.result || { at, fields: {} };
        change(record);
        if (Object.keys(record.fields).length) store.put(record);
        else store.delete(at);
      };
    });
  }

  /* Fields */

  const keyOf = field => field.type === "checkbox" ? `${field.name}=${field.value}` : field.name;
  const fieldsOf = form => [...form.querySelectorAll("input[name], select[name], textarea[name]")].filter(field => !NEVER.has(field.type));
  const groupOf = (form, field) => fieldsOf(form).filter(other => other.type === "radio" && other.name === field.name);
  /* What a field says, or (first) what it said when the page came. */
  function said(form, field, first = false) {
    if (field.type === "file") return first ? null : field.files[0] || null;
    if (field.type === "checkbox") return (first ? field.defaultChecked : field.checked) ? "on" : "";
    if (field.type === "radio") {
      const chosen = groupOf(form, field).find(other => first ? other.defaultChecked : other.checked);
      return chosen ? chosen.value : "";
    }
    if (field.tagName !== "SELECT") return first ? field.defaultValue : field.value;
    if (!first) return field.value;
    const chosen = [...field.options].find(option => option.defaultSelected) || field.options[0];
    return chosen ? chosen.value : "";
  }
  function say(form, field, value) {
    if (field.type === "file") {
      const files = new DataTransfer();
      if (value) files.items.add(value);
      field.files = files.files;
    } else if (field.type === "checkbox") field.checked = value === "on";
    else if (field.type === "radio") groupOf(form, field).forEach(other => { other.checked = other.value === value; });
    else field.value = value;
  }
  /* Whether the job says already what was typed: a figure comes back with a point and its unit. */
  function stands(field, first, value) {
    if (first === value) return true;
    const figure = typeof value === "string" && value.trim().replace(",", ".");
    return Boolean(figure) && field.inputMode === "decimal" && (first === figure || first.startsWith(figure + " "));
  }
  function words(field, value) {
    if (value === "" || value === null) return "nothing";
    if (value instanceof File) return value.name;
    if (field.type === "checkbox") return "ticked";
    const option = field.tagName === "SELECT" ? [...field.options].find(one => one.value === value)
      : field.type === "radio" ? groupOf(field.form, field).find(one => one.value === value) : null;
    return option ? (option.textContent || option.closest("label").textContent).trim() : value;
  }

  /* What is said on the page */

  function made(tag, kind, ...parts) {
    const node = document.createElement(tag);
    node.className = kind;
    node.append(...parts);
    return node;
  }
  function button(text, step) {
    const node = made("button", "plain", text);
    node.type = "button";
    node.addEventListener("click", step);
    return node;
  }
  function when(time) {
    const day = new Date(time), two = number => String(number).padStart(2, "0");
    const clock = `${two(day.getHours())}:${two(day.getMinutes())}`;
    return day.toDateString() === new Date().toDateString() ? `at ${clock}`
      : `on ${day.getFullYear()}-${two(day.getMonth() + 1)}-${two(day.getDate())} at ${clock}`;
  }

  /* A form of the page: what was typed into it, what stands in it from before, and whether it is being sent. */

  const known = new WeakMap();
  function stateOf(form) {
    if (!known.has(form)) known.set(form, { at: form.dataset.keep, mine: new Set(), typed: new Map(), writing: null, tries: 0 });
    return known.get(form);
  }
  const returned = () => Boolean(document.querySelector("main .faults"));

  /* Write what was typed, one step after the other: while one is on its way to the disk the next ones gather. */
  function keep(form) {
    const state = stateOf(form);
    state.writing = state.writing || (async () => {
      while (state.typed.size) {
        const typed = [...state.typed];
        state.typed.clear();
        await changed(state.at, record => {
          record.time = Date.now();
          const card = document.querySelector(".jobcard h1");
          record.title = document.title.replace(/ - howdeep$/, "") + (card ? `: ${card.textContent}` : "");
          for (const [key, entry] of typed) {
            const before = record.fields[key];
            if (entry === null) delete record.fields[key];
            else record.fields[key] = { ...entry, was: before ? before.was : entry.was };
          }
        });
      }
      state.writing = null;
    })();
    return state.writing;
  }
  function typedInto(event) {
    const field = event.target, form = field.form;
    if (!form || !form.dataset.keep || !field.name || NEVER.has(field.type)) return;
    const state = stateOf(form), key = keyOf(field), value = said(form, field), was = said(form, field, true);
    if (value === was && !state.mine.has(key)) return;
    state.mine.add(key);
    state.typed.set(key, value === was && !returned() ? null : { value, was });
    if (state.later) {
      clearTimeout(state.later);
      state.later = null;
      tell(form, "Not saved yet: what you typed is kept on this device. Save it again when you are through.");
    }
    keep(form);
  }

  /* Put back */

  async function putBack(form) {
    const state = stateOf(form), record = await stored("readonly", store => store.get(state.at));
    if (!record) return;
    const fields = new Map(fieldsOf(form).map(field => [keyOf(field), field]));
    if (!fields.size) return;
    const back = [], gone = [], both = [], settled = [];
    for (const [key, { value, was }] of Object.entries(record.fields)) {
      const field = fields.get(key);
      if (!field) {
        gone.push(`${key.replace(/_/g, " ")} ${value instanceof File ? value.name : value}`);
        continue;
      }
      const first = said(form, field, true);
      if (state.mine.has(key)) continue;  // typed anew while this was read
      if (stands(field, first, value) && !returned()) settled.push(key);
      else if (first === was || "free" in field.dataset || returned()) {
        say(form, field, value);
        back.push(field);
        state.mine.add(key);
      } else {
        both.push({ field, first, value });
        state.mine.add(key);
      }
    }
    if (settled.length) await changed(state.at, now => settled.forEach(key => delete now.fields[key]));
    if (!back.length && !both.length && !gone.length) return;
    if (record.sent) form.setAttribute("action", record.sent);  // the number it was sent under: saved once, whatever came of it
    for (const { field } of both.concat(back.map(field => ({ field })))) {
      for (let line = field.closest("details"); line; line = line.parentElement.closest("details")) line.open = true;
    }
    for (const { field, first, value } of both) {
      const place = made("span", "clash", "Saved since: ", made("strong", "", words(field, first)), "; you had typed ",
        made("strong", "", words(field, value)), ` ${when(record.time)}, not saved. `);
      place.append(button("Put mine in", () => { say(form, field, value); place.remove(); keepNow(form, field, value, first); }));
      (field.closest("td, p, fieldset, label") || form).append(place);
    }
    if (returned()) return;
    const notice = made("div", "notice put-back", made("strong", "", "Not yet saved"),
      back.length ? `: put back what you typed ${when(record.time)}.` : `: you typed something here ${when(record.time)}.`,
      record.sent ? " It was sent, and no answer came: save it again, it is saved once." : "",
      both.length ? ` ${both.length === 1 ? "One field was" : `${both.length} fields were`} saved by somebody since: both values stand there.` : "",
      gone.length ? ` No longer asked here: ${gone.join("; ")}.` : "", " ");
    notice.setAttribute("role", "status");
    notice.append(button("Throw it away", async () => {
      await changed(state.at, now => { now.fields = {}; });
      fieldsOf(form).filter(field => state.mine.has(keyOf(field))).forEach(field => say(form, field, said(form, field, true)));
      form.querySelectorAll(".clash").forEach(place => place.querySelector("button.plain") && place.remove());
      state.mine.clear();
      notice.remove();
    }));
    form.prepend(notice);
  }
  function keepNow(form, field, value, was) {
    stateOf(form).typed.set(keyOf(field), { value, was });
    changed(stateOf(form).at, record => delete record.fields[keyOf(field)]).then(() => keep(form));
  }

  /* Send */

  function tell(form, text, again) {
    const state = stateOf(form);
    if (state.told) state.told.remove();
    state.told = null;
    if (!text) return;
    state.told = made("span", "notice unsent", text, " ");
    state.told.setAttribute("role", "alert");
    if (again) state.told.append(button("Send it now", again));
    (state.pressed && state.pressed.isConnected ? state.pressed.parentElement : form).append(state.told);
    state.told.scrollIntoView({ block: "nearest" });
  }
  async function send(form, pressed) {
    const state = stateOf(form);
    if (state.sending) return;
    clearTimeout(state.later);
    Object.assign(state, { sending: true, later: null, pressed });
    const body = new FormData(form);
    if (pressed && pressed.name) body.append(pressed.name, pressed.value);
    const action = form.getAttribute("action"), sent = new Map(fieldsOf(form).map(field => [keyOf(field), said(form, field)]));
    await soon(keep(form).then(() => state.mine.size && changed(state.at, record => { record.sent = action; })));
    const busy = setTimeout(() => tell(form, "Saving ..."), 1000), stop = new AbortController();
    const end = setTimeout(() => stop.abort(), PATIENCE);
    try {
      const answer = await fetch(action, { method: "POST", headers: { "Howdeep-Script": "1" }, signal: stop.signal,
        body: form.enctype === "multipart/form-data" ? body : new URLSearchParams(body) });
      const next = answer.headers.get("Howdeep-Next");
      if (answer.status === 204 && next) {
        const now = new Map(fieldsOf(form).map(field => [keyOf(field), said(form, field)]));
        await soon(changed(state.at, record => {  // but what was typed while it was on its way
          for (const key of state.mine) if (sent.get(key) === now.get(key)) delete record.fields[key];
          delete record.sent;
        }));
        go(next);
        return;
      }
      show(form, await answer.text(), answer.status);
    } catch (error) {
      const wait = WAITS[Math.min(state.tries, WAITS.length - 1)];
      state.tries += 1;
      state.sending = false;
      tell(form, "Not saved: the page cannot be reached. What you typed is kept on this device, and is sent again when the line is back.",
        () => send(form, pressed));
      state.later = setTimeout(() => send(form, pressed), wait * 1000);
    } finally {
      clearTimeout(busy);
      clearTimeout(end);
    }
  }
  /* What is wanted, or after a moment go on without: a database that does not answer holds up no form. */
  const soon = wanted => Promise.race([wanted, new Promise(done => setTimeout(done, 1500))]);
  function go(address) {
    const there = new URL(address, location.href);
    if (there.hash && there.href.split("#")[0] === location.href.split("#")[0]) {
      history.replaceState(null, "", there.href);
      location.reload();
    } else location.assign(there.href);
  }
  /* What the server said in place of "saved": its form with what is to be mended, or the reason why there is none. */
  function show(form, html, status) {
    const state = stateOf(form), came = new DOMParser().parseFromString(html, "text/html");
    const same = page => [...page.querySelectorAll("form[data-keep]")].filter(one => one.dataset.keep === state.at);
    state.sending = false;
    state.tries = 0;
    changed(state.at, record => delete record.sent);
    if ("forget" in came.body.dataset) forget(() => true);
    if (!came.querySelector("main .faults") || !same(came).length) {
      const title = came.querySelector("h1"), line = came.querySelector("main li");
      const locked = status === 403 && came.querySelector("input[name=token]");
      const why = locked ? "this device has to be let in again" : [title, line].filter(Boolean).map(one => one.textContent.trim().replace(/\.$/, "")).join(": ") || `answer ${status}`;
      tell(form, `Not saved: ${why}. What you typed still stands here.`, () => send(form, state.pressed));
      if (locked) {
        const enter = made("a", "", "Let it in");
        Object.assign(enter, { href: "/enter", target: "_blank" });
        state.told.append(" ", enter);
      }
      return;
    }
    document.title = came.title;
    document.body.replaceWith(came.body);
    const mine = same(document).find(one => one.className === form.className) || same(document)[0];
    Object.assign(stateOf(mine), { mine: state.mine });
    document.querySelectorAll("form[data-keep]").forEach(other => other === mine || putBack(other));
    scrollTo(0, 0);
    const fault = document.querySelector("main .faults");
    fault.tabIndex = -1;
    fault.focus();
  }

  /* Forget, and list what is kept */

  function forget(which) {
    return stored("readwrite", store => {
      store.openCursor().onsuccess = event => {
        const cursor = event.target.result;
        if (!cursor) return;
        if (which(cursor.value)) cursor.delete();
        cursor.continue();
      };
    });
  }
  async function list(place) {
    await forget(record => record.time < Date.now() - DAYS * 86400000);
    const records = await stored("readonly", store => store.getAll());
    if (!records || !records.length) return;
    const lines = made("ul", "jobs");
    for (const record of records.sort((one, other) => other.time - one.time)) {
      const where = made("a", "", record.title), job = record.at.match(/^\/job\/([^/]+)/), line = made("li", "", where);
      where.href = record.at;
      line.append(made("span", "", `${job ? `${decodeURIComponent(job[1])}, ` : ""}typed ${when(record.time)} `),
        button("Throw it away", async () => { await forget(one => one.at === record.at); line.remove(); place.hidden = !lines.children.length; }));
      lines.append(line);
    }
    place.append(made("h2", "", "Typed on this device and not saved yet"), lines);
    place.hidden = false;
  }

  document.addEventListener("input", typedInto);
  document.addEventListener("change", typedInto);
  document.addEventListener("submit", event => {
    const form = event.target, gone = (form.getAttribute("action") || "").match(/^(\/job\/[^/]+\/)delete$/);
    if (gone) stored("readwrite", store => store.delete(IDBKeyRange.bound(gone[1], `${gone[1]}\uffff`)));
    if (!form.dataset.keep) return;
    event.preventDefault();
    send(form, event.submitter);
  });
  addEventListener("online", () => {
    for (const form of document.querySelectorAll("form[data-keep]")) if (stateOf(form).later) send(form, stateOf(form).pressed);
  });
  addEventListener("pageshow", event => event.persisted && location.reload());
  if ("forget" in document.body.dataset) forget(() => true);
  document.querySelectorAll("form[data-keep]").forEach(putBack);
  if (document.querySelector("form[action$='/delete']")) opened().catch(() => null);
  const place = document.getElementById("typed");
  if (place) list(place);
})();
