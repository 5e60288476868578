// News from the server over one WebSocket, which comes back by itself.

import { base } from "./dom.js";

const SHORTEST = 250;
const LONGEST = 2000;

export function listen({ onState, onUp, onDown }) {
  let wait = SHORTEST;
  let socket;
  window.addEventListener("offline", () => socket.close()); // it would stand for minutes, and say nothing
  const open = () => {
    socket = new WebSocket(`ws://${location.host}${base}news`);
    socket.addEventListener("open", () => {
      wait = SHORTEST;
      onUp();
    });
    socket.addEventListener("message", (event) => onState(JSON.parse(event.data)));
    socket.addEventListener("close", () => {
      onDown();
      setTimeout(open, wait);
      wait = Math.min(2 * wait, LONGEST);
    });
  };
  open();
}
