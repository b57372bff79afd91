"use strict";
// Opens the secrets sealed into this document, and closes them again. binder/envelope/FORMAT.md has
// how they are sealed. A value is written into the page as text, and only while it is shown;
// nothing is sent, stored or remembered.
{
  const KDF = "PBKDF2-HMAC-SHA-256";
  const CIPHER = "AES-256-GCM";
  const ITERATIONS = { least: 600000, most: 10000000 }; // a hostile file could ask for hours
  const OPEN_MINUTES = 5; // since anyone last touched the page
  const QUIET_MODULES = 4; // around a QR code (ISO/IEC 18004)

  const box = document.getElementById("sealed");
  const status = box.querySelector("[role=status]");
  const block = document.getElementById("sealed-secrets").textContent;

  function element(tag, properties, ...children) {
    const made = Object.assign(document.createElement(tag), properties);
    made.append(...children);
    return made;
  }

  // The block. ------------------------------------------------------------------------------

  const utf8 = (text) => new TextEncoder().encode(text);
  const fromBase64 = (text) => Uint8Array.from(atob(text), (character) => character.charCodeAt(0));
  const tidy = (text) => btoa(atob(text));

  // FIELDS: each member after its length in four bytes.
  function fields(...members) {
    return Uint8Array.from(members.flatMap((member) => {
      const data = typeof member === "object" ? member : utf8(String(member));
      const length = new DataView(new ArrayBuffer(4));
      length.setUint32(0, data.length);
      return [...new Uint8Array(length.buffer), ...data];
    }));
  }

  // Gives what is sealed. Throws when it does not open; why is not told to anybody.
  async function unseal(typed) {
    const { iterations, ...found } = JSON.parse(block);
    const [salt, iv, sealed] = [found.salt, found.iv, found.sealed].map(tidy);
    const same = { format: 1, kdf: KDF, iterations, cipher: CIPHER, salt, iv, sealed };
    if (JSON.stringify(same) !== block || !Number.isInteger(iterations) ||
        iterations < ITERATIONS.least || iterations > ITERATIONS.most) throw new Error("not ours");
    const passphrase = typed.normalize("NFKC").replace(/^[ \t\r\n]+|[ \t\r\n]+$/g, "");
    const bytes = { salt: fromBase64(salt), iv: fromBase64(iv), sealed: fromBase64(sealed) };
    const subtle = crypto.subtle;
    const material = await subtle.importKey("raw", utf8(passphrase), "PBKDF2", false, ["deriveKey"]);
    const key = await subtle.deriveKey(
      { name: "PBKDF2", hash: "SHA-256", salt: bytes.salt, iterations },
      material, { name: "AES-GCM", length: 256 }, false, ["decrypt"]);
    const additionalData = fields(
      "binder-sealed-document/1", KDF, iterations, CIPHER, bytes.salt, bytes.iv);
    const plaintext = await subtle.decrypt(
      { name: "AES-GCM", iv: bytes.iv, additionalData }, key, bytes.sealed);
    return JSON.parse(new TextDecoder().decode(plaintext));
  }

  // What a secret shows. --------------------------------------------------------------------

  const secondsLeft = (period) => period - Math.floor(Date.now() / 1000) % period;

  // The code of this moment (RFC 6238).
  async function code({ seed, hash, digits, period_s }) {
    const counter = new DataView(new ArrayBuffer(8));
    counter.setBigUint64(0, BigInt(Math.floor(Date.now() / 1000 / period_s)));
    const algorithm = { name: "HMAC", hash };
    const key = await crypto.subtle.importKey("raw", fromBase64(seed), algorithm, false, ["sign"]);
    const mac = new DataView(await crypto.subtle.sign("HMAC", key, counter));
    const truncated = mac.getUint32(mac.getUint8(mac.byteLength - 1) & 15) & 0x7fffffff;
    return String(truncated % 10 ** digits).padStart(digits, "0");
  }

  function shape(tag, attributes, ...children) {
    const made = document.createElementNS("http://www.w3.org/2000/svg", tag);
    for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
    made.append(...children);
    return made;
  }

  function qrCode(rows) {
    const side = rows.length + 2 * QUIET_MODULES;
    const dark = rows.flatMap((row, y) => [...row].map((module, x) =>
      module === "1" ? `M${x + QUIET_MODULES} ${y + QUIET_MODULES}h1v1h-1z` : ""));
    return shape("svg", {
      viewBox: `0 0 ${side} ${side}`, role: "img", class: "qr", "shape-rendering": "crispEdges",
      "aria-label": "QR code by which a phone joins the network",
    }, shape("rect", { width: side, height: side, fill: "#fff" }),
    shape("path", { d: dark.join(""), fill: "#000" }));
  }

  const codes = new Map(); // where one-time codes are shown: how they are made

  function shown(secret) {
    const parts = [element("code", { className: "secret", textContent: secret.value })];
    if (secret.codes) {
      const output = element("p", { className: "live code" });
      codes.set(output, secret.codes);
      parts.unshift(output, element("p", {
        className: "live",
        textContent: "By this computer's clock. The seed, to set up another phone:",
      }));
    }
    if (secret.qr) parts.push(qrCode(secret.qr));
    return parts;
  }

  async function renewCodes() {
    for (const [output, parameters] of codes) {
      if (output.isConnected) {
        const digits = await code(parameters);
        output.textContent = `${digits} (${secondsLeft(parameters.period_s)} s left)`;
      } else {
        codes.delete(output);
      }
    }
  }

  // Opening and closing. --------------------------------------------------------------------

  let closing = 0; // when, in milliseconds
  let ticking = 0;

  function entry(secret) {
    const value = element("div", { className: "value" });
    const button = element("button", { type: "button" });
    const show = (whether) => {
      value.replaceChildren(...(whether ? shown(secret) : []));
      button.textContent = whether ? "Hide" : "Show";
      button.setAttribute("aria-label", `${button.textContent} ${secret.name}`);
      button.setAttribute("aria-expanded", String(whether));
      renewCodes();
    };
    button.addEventListener("click", () => show(value.childElementCount === 0));
    show(false);
    const what = element("div", { className: "what" },
      element("strong", { textContent: secret.name }),
      element("span", { textContent: `${secret.kind}, ${secret.belongs_to}` }));
    return { show, line: element("li", {}, what, button, value) };
  }

  function open({ secrets, recipient, sealed_on }) {
    const entries = secrets.map(entry);
    const button = (textContent, act) => {
      const made = element("button", { type: "button", textContent });
      made.addEventListener("click", act);
      return made;
    };
    const bar = element("p", { className: "bar" },
      button("Close", () => { close("Closed."); box.querySelector("input").focus(); }),
      button("Show all", () => entries.forEach(({ show }) => show(true))),
      button("Hide all", () => entries.forEach(({ show }) => show(false))));
    const list = element("ul", { className: "secrets", tabIndex: -1 },
      ...entries.map(({ line }) => line));
    box.replaceChildren(bar, status, list);
    status.textContent = `Open: ${secrets.length}, sealed for ${recipient} on ${sealed_on}. They ` +
      `close ${OPEN_MINUTES} minutes after the page was last touched. What is shown is printed too.`;
    touch();
    ticking = setInterval(tick, 1000);
    list.focus({ preventScroll: true });
  }

  function touch() {
    closing = Date.now() + OPEN_MINUTES * 60000;
  }

  function tick() {
    if (Date.now() >= closing) close(`Closed: nobody touched the page for ${OPEN_MINUTES} minutes.`);
    else renewCodes();
  }

  function close(says) {
    clearInterval(ticking);
    codes.clear();
    box.replaceChildren(form(), status);
    status.textContent = says;
  }

  function form() {
    const typed = element("input", {
      id: "sealed-passphrase", type: "password", autocomplete: "off", spellcheck: false,
      autocapitalize: "none", required: true,
    });
    const legible = element("input", { type: "checkbox" });
    legible.addEventListener("change", () => { typed.type = legible.checked ? "text" : "password"; });
    const button = element("button", { textContent: "Open" });
    const made = element("form", {},
      element("label", { htmlFor: typed.id, textContent: "Passphrase" }), typed, button,
      element("label", { className: "legible" }, legible, "Show what I type"));
    made.addEventListener("submit", async (event) => {
      event.preventDefault();
      status.textContent = "Opening; this takes a moment.";
      button.disabled = true;
      try {
        open(await unseal(typed.value));
      } catch {
        status.textContent = "They did not open: wrong passphrase, or the file was altered.";
        button.disabled = false;
        typed.select();
      }
    });
    return made;
  }

  if (window.isSecureContext && crypto.subtle) {
    close("They are sealed.");
    for (const act of ["pointermove", "pointerdown", "keydown"]) {
      document.addEventListener(act, touch, { passive: true });
    }
    window.addEventListener("pagehide", () => close("They are sealed."));
  } else {
    status.textContent = "They cannot be opened here: this browser decrypts only on pages it takes " +
      "for safe. Save the file on a disk and open it from there, in a current browser.";
  }
}
