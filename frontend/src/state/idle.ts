// How long nobody has touched this workbench, in any tab of this browser; and what one tab tells the others of the lock.

type Message = "hand" | "locked" | "open";
const tabs = new BroadcastChannel("collum-lock");
const LOOK_MS = 1000;
/** A hand is told to the other tabs at most so often, and to the server so often within the time after which it locks. */
const TELL_MS = 1000;
const TELLS_SERVER = 4;

export interface Watched {
  idle_s: number;
  /** Nobody was here for that long. */
  idle(): void;
  /** Somebody is here: told now and then. */
  used(): void;
  /** Another tab locked or unlocked the record. */
  heard(message: "locked" | "open"): void;
}

let watched: Watched | null = null;
let last = Date.now();
let told = 0;
let toldServer = 0;

/** Somebody is here. Also called for a round that runs: nobody is away from it. */
export function hand(): void {
  last = Date.now(); // of the day: a machine that slept was not touched
  if (watched === null || last - told < TELL_MS) return;
  told = last;
  tell("hand");
  if (watched.idle_s === 0 || last - toldServer < (watched.idle_s * 1000) / TELLS_SERVER) return;
  toldServer = last;
  watched.used();
}

export const tell = (message: Message): void => tabs.postMessage(message);

/** Watch from now on. */
export function watch(next: Watched): void {
  watched = next;
  last = Date.now();
}

for (const kind of ["pointerdown", "pointermove", "keydown", "touchstart", "wheel"]) addEventListener(kind, hand, { passive: true, capture: true });
setInterval(() => {
  if (watched === null || watched.idle_s === 0 || Date.now() - last < watched.idle_s * 1000) return;
  last = Date.now();
  watched.idle();
}, LOOK_MS);
tabs.onmessage = ({ data }: MessageEvent<Message>) => {
  if (data === "hand") last = Date.now();
  else watched?.heard(data);
};
