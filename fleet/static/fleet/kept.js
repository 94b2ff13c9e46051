/* Forms of work at a machine and at the bench: kept on the device until the service has taken them, and sent once.

   A form marked data-keep is written to the device before it is sent, so that neither a lost connection nor a
   closed page loses it. Its token makes it count once, however often it is sent. Without this script the same
   forms are sent as any other. */

(() => {
  "use strict";

  const PLACE = "fleet-kept";
  const AGAIN_MS = 15000;
  const notes = document.getElementById("kept");
  if (!notes) return;
  const words = notes.dataset;
  const said = new Map(); // what is said of forms that are gone from the device, by token
  let sending = null;

  const read = () => JSON.parse(localStorage.getItem(PLACE) || "[]");
  const write = (entries) => localStorage.setItem(PLACE, JSON.stringify(entries));
  const drop = (token) => write(read().filter((entry) => entry.token !== token));
  const change = (token, values) =>
    write(read().map((entry) => (entry.token === token ? { ...entry, ...values } : entry)));

  function keep(form) {
    const fields = [...new FormData(form)].filter(([, value]) => typeof value === "string");
    const entry = {
      token: form.elements.token.value,
      address: form.action,
      page: location.pathname,
      what: form.dataset.keep,
      who: words.who,
      fields: fields.filter(([name]) => name !== "csrfmiddlewaretoken"),
    };
    write([...read().filter((one) => one.token !== entry.token), entry]);
    return entry;
  }

  function cookie(name) {
    const found = document.cookie.split("; ").find((pair) => pair.startsWith(`${name}=`));
    return found ? decodeURIComponent(found.slice(name.length + 1)) : "";
  }

  /* What came of sending: taken, refused (with a text; `shown` where a page would say it beside each field),
     or kept because there is no connection, nobody or another signed in, or a fault at the other end, none
     of which is the form's. */
  async function send(entry, later) {
    const body = new URLSearchParams(entry.fields);
    body.append("who", entry.who); // another person may have signed in here since this page was opened
    if (later) body.append("later", "yes");
    let answer;
    let told;
    try {
      answer = await fetch(entry.address, {
        method: "POST",
        body,
        headers: { Accept: "application/json", "X-CSRFToken": cookie("csrftoken") },
      });
      told = (answer.headers.get("Content-Type") || "").includes("json") ? await answer.json() : null;
    } catch {
      return { state: "kept", text: words.waits };
    }
    if (answer.ok && told) return { state: "taken", text: told.told, next: told.next };
    if (answer.status === 422 && told) return { state: "refused", text: told.text, shown: true };
    if (answer.status === 404 || answer.status === 403) return { state: "refused", text: words.forbidden };
    const signedOut = answer.redirected || answer.status === 409;
    return { state: "kept", text: signedOut ? words.signIn : words.fault };
  }

  function line(entry, text, buttons) {
    const item = document.createElement("p");
    item.className = "note";
    item.append(`${entry.what}: ${text} `, ...buttons);
    return item;
  }

  function button(label, act) {
    const made = document.createElement("button");
    made.type = "button";
    made.className = "plain";
    made.textContent = label;
    made.addEventListener("click", act);
    return made;
  }

  function link(label, address) {
    const made = document.createElement("a");
    made.href = address;
    made.textContent = label;
    return made;
  }

  function show() {
    const lines = [...said.values()];
    for (const entry of read()) {
      const gone = () => {
        drop(entry.token);
        show();
      };
      if (entry.who !== words.who) {
        lines.push(line(entry, `${words.kept} ${words.other} ${entry.who}.`, []));
      } else if (entry.refused) {
        const ways = [link(words.mend, entry.page), " ", button(words.forget, gone)];
        lines.push(line(entry, `${words.refused} ${entry.refused}`, ways));
      } else {
        lines.push(line(entry, `${words.kept} ${entry.why || ""}`, []));
      }
    }
    notes.replaceChildren(...lines);
    notes.hidden = !lines.length;
  }

  const waits = (entry) => !entry.refused && entry.who === words.who;

  /* Sends what waits, oldest first, since a later form may rest on an earlier one. */
  async function sendAll() {
    for (const entry of read().filter(waits)) {
      const came = await send(entry, true);
      if (came.state === "taken") {
        drop(entry.token);
        said.set(entry.token, line(entry, `${words.sent} ${came.text}`, []));
      } else if (came.state === "refused") {
        change(entry.token, { refused: came.text });
      } else {
        change(entry.token, { why: came.text });
        return;
      }
    }
  }

  /* Whoever asks while it runs waits for the same run. */
  function sendKept() {
    sending ??= sendAll().finally(() => {
      sending = null;
      show();
    });
    return sending;
  }

  /* What was refused after it had waited is not to be typed again: its form begins with it, under the same
     token. What the page itself put in (hidden) stays as it is now. */
  function refill(entry) {
    const sent = (name) => entry.fields.filter(([own]) => own === name).map(([, value]) => value);
    const form = [...document.querySelectorAll("form[data-keep]")].find(
      (one) => one.action === entry.address && (one.elements.act?.value ?? "") === (sent("act")[0] ?? ""),
    );
    if (!form) return;
    for (const field of form.elements) {
      const values = sent(field.name);
      if (field.type === "checkbox" || field.type === "radio") field.checked = values.includes(field.value);
      else if (values.length && (field.type !== "hidden" || field.name === "token")) field.value = values[0];
    }
    const act = form.closest("details");
    if (act) act.open = true;
  }

  async function submit(event) {
    const form = event.target;
    if (!(form instanceof HTMLFormElement) || !form.dataset.keep) return;
    event.preventDefault();
    for (const one of form.querySelectorAll("button")) one.disabled = true;
    const behind = read().some(waits);
    let entry;
    try {
      entry = keep(form);
    } catch {
      HTMLFormElement.prototype.submit.call(form); // the device keeps nothing, or not so much
      return;
    }
    if (behind) {
      await sendKept();
      notes.scrollIntoView({ block: "center" });
      return;
    }
    const came = await send(entry, false);
    if (came.state === "taken") {
      drop(entry.token);
      location.assign(came.next);
    } else if (came.shown) {
      drop(entry.token);
      HTMLFormElement.prototype.submit.call(form); // the page says what is wrong, beside each field
    } else {
      change(entry.token, came.state === "refused" ? { refused: came.text } : { why: came.text });
      show();
      notes.scrollIntoView({ block: "center" });
    }
  }

  document.addEventListener("submit", submit);
  window.addEventListener("online", sendKept);
  setInterval(() => read().some(waits) && sendKept(), AGAIN_MS);
  for (const entry of read()) if (entry.refused && entry.who === words.who) refill(entry);
  show();
  sendKept();
})();
