// What a phone needs around the terminal of terminal.js: letters of the right size, a finger that works as on the screens
// elsewhere, a keyboard that stays down, and the way back after the connection was lost. Nothing is kept in the browser.
"use strict";

(() => {
  const COLUMNS = 40; // what every screen is made for
  const LETTER = 0.601; // the width of one letter for its size
  const LARGEST = 18;
  const SMALLEST = 9;
  const MOVED = 8; // pixels from which a touch is a drag
  const PING_EVERY = 4000;
  const PONG_WITHIN = 6000;
  const TRY_EVERY = 1500;

  const WORDS = {
    4000: ["You have left", "Everything that was shown as done is kept."],
    4001: ["prepkit stopped", "A fault in the program. Everything that was shown as done is kept."],
    4002: ["Signed out", "Nobody used it for a while. Everything that was shown as done is kept."],
    4003: ["Open elsewhere", "It was opened in another tab of this browser. Everything that was shown as done is kept."],
  };
  const LOST = ["Connection lost", "Everything that was shown as done is kept. Trying again: it comes back where you were."];

  const open = window.onload;
  window.onload = null;
  window.open = () => null; // no screen leads to another page

  let socket = null;
  let isOver = false;
  let pingedAt = 0;
  let pongedAt = 0;

  const find = (id) => document.getElementById(id);

  function cover([title, words], canOpen) {
    find("cover-title").textContent = title;
    find("cover-words").textContent = words;
    find("cover-button").hidden = !canOpen;
    find("cover").hidden = false;
  }

  function again() {
    window.location.replace("/");
  }

  // The connection

  class WatchedSocket extends window.WebSocket {
    constructor(url) {
      super(url);
      socket = this;
      this.addEventListener("open", () => {
        pongedAt = Date.now();
        document.querySelector(".xterm-helper-textarea").focus({ preventScroll: true });
      });
      this.addEventListener("message", (event) => {
        pongedAt = Date.now();
        if (!isOver && typeof event.data !== "string") find("cover").hidden = true;
      });
      this.addEventListener("close", (event) => end(event.code));
    }
  }

  function end(code) {
    if (isOver) return;
    isOver = true;
    find("terminal").replaceChildren(); // nothing of a baby stays on a page that nobody can lock
    if (WORDS[code]) {
      cover(WORDS[code], true);
    } else {
      cover(LOST, false);
      tryAgain();
    }
  }

  function lose() {
    if (isOver) return;
    if (socket) socket.close(); // first, or it would still tell the program of the size that is no more
    end(0);
  }

  async function tryAgain() {
    try {
      const answer = await fetch("/alive", { cache: "no-store" });
      if (answer.ok || answer.status === 401) return again();
    } catch {
      // not yet
    }
    setTimeout(tryAgain, TRY_EVERY);
  }

  function look() {
    if (isOver || !socket || document.hidden) return;
    const now = Date.now();
    if (socket.readyState === WebSocket.OPEN && now - pingedAt >= PING_EVERY) {
      if (pingedAt > pongedAt && now - pingedAt >= PONG_WITHIN) return lose();
      if (pingedAt <= pongedAt) {
        pingedAt = now;
        socket.send(JSON.stringify(["ping", String(now)]));
      }
    }
  }

  // The finger: a touch is a press of the mouse, a drag is a drag, and two fingers are the browser's.

  let finger = null;

  function mouse(kind, touch, buttons) {
    const screen = document.querySelector(".xterm-screen");
    if (!screen) return;
    const { clientX, clientY } = touch;
    const settings = { bubbles: true, cancelable: true, composed: true, view: window, clientX, clientY, button: 0, buttons };
    screen.dispatchEvent(new MouseEvent(kind, settings));
  }

  function put(event) {
    if (finger && finger.isDrag) mouse("mouseup", finger.last, 0);
    finger = event.touches.length === 1 ? { first: event.touches[0], last: event.touches[0], isDrag: false } : null;
  }

  function move(event) {
    if (!finger || event.touches.length !== 1) return;
    event.preventDefault();
    finger.last = event.touches[0];
    const far = Math.hypot(finger.last.clientX - finger.first.clientX, finger.last.clientY - finger.first.clientY);
    if (!finger.isDrag && far > MOVED) {
      finger.isDrag = true;
      mouse("mousedown", finger.first, 1);
    }
    if (finger.isDrag) mouse("mousemove", finger.last, 1);
  }

  function lift(event) {
    if (!finger) return;
    event.preventDefault(); // else the browser makes a press of its own
    if (!finger.isDrag) mouse("mousedown", finger.first, 1);
    mouse("mouseup", finger.last, 0);
    finger = null;
  }

  function drop() {
    if (finger && finger.isDrag) mouse("mouseup", finger.last, 0);
    finger = null;
  }

  // The start

  function fitLetters() {
    const width = Math.min(window.innerWidth, window.innerHeight);
    return Math.max(SMALLEST, Math.min(LARGEST, width / (COLUMNS * LETTER)));
  }

  async function start() {
    const terminal = find("terminal");
    const secure = window.location.protocol === "https:";
    terminal.dataset.fontSize = fitLetters();
    terminal.dataset.sessionWebsocketUrl = `${secure ? "wss" : "ws"}://${window.location.host}/screens`;
    find("cover-button").addEventListener("click", again);
    await Promise.all(["", "bold ", "italic "].map((style) => document.fonts.load(`${style}16px "Roboto Mono"`)));
    window.WebSocket = WatchedSocket;
    try {
      open(new Event("load"));
    } catch {
      cover(["Not shown", "This browser cannot draw the screens: it needs WebGL 2. Update it, or use another one."], true);
      return;
    }
    // The screens have keys of their own: the phone's keyboard stays down.
    document.querySelector(".xterm-helper-textarea").setAttribute("inputmode", "none");
    terminal.addEventListener("touchstart", put, { passive: true });
    terminal.addEventListener("touchmove", move, { passive: false });
    terminal.addEventListener("touchend", lift, { passive: false });
    terminal.addEventListener("touchcancel", drop);
    terminal.addEventListener("contextmenu", (event) => event.preventDefault());
    setInterval(look, 1000);
    window.addEventListener("offline", lose);
    document.addEventListener("visibilitychange", look);
  }

  window.addEventListener("load", start);
})();
