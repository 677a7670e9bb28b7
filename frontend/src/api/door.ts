// How this page comes to a session, and back to one: by a one-time link, by the key of a kept browser, or through another tab.
// The token lives in sessionStorage and goes into a header, never into an address.
import createClient from "openapi-fetch";
import { keptKeys, signed } from "./kept_key";
import type { paths } from "./schema";

const TOKEN = "collum-session";
const INSTANCE = "collum-instance";
const PURPOSE = "collum-kept-browser-1";
/** The server takes so many requests a second; one that came too soon is sent again, as often as a hand can be that quick. */
const MOST_TRIES = 8;
const TRY_AGAIN_MS = 300;
/** Another tab that is open answers well within this time; until it is over nothing is said. */
const TAB_ANSWERS_MS = 400;

/** What the page has to say. `shut`: only a new link helps. `again`: the program was started anew. `used`: that link was none any more. */
export interface Doorway {
  shut: boolean;
  again: boolean;
  used: boolean;
}

let doorway: Doorway = { shut: false, again: false, used: false };
let listener: (doorway: Doorway) => void = () => undefined;

export function onDoorway(told: (doorway: Doorway) => void): void {
  listener = told;
}

function say(changed: Partial<Doorway>): void {
  doorway = { ...doorway, ...changed };
  listener(doorway);
}

/** What was said of a new start has been read. */
export const seen = (): void => say({ again: false });

const held = (): string | null => sessionStorage.getItem(TOKEN);

async function patiently(send: () => Promise<Response>): Promise<Response> {
  for (let tries = 1; ; tries++) {
    const response = await send();
    if (response.status !== 429 || tries === MOST_TRIES) return response;
    await new Promise((wake) => setTimeout(wake, TRY_AGAIN_MS));
  }
}

const sent = (request: Request, token: string | null): Promise<Response> =>
  patiently(() => {
    const copy = request.clone();
    copy.headers.set("Collum-Session", token ?? "");
    return fetch(copy);
  });

/** Send with the session of this page. Without one it waits until there is one again, and sends once more. */
async function admitted(send: (token: string | null) => Promise<Response>, signal: AbortSignal): Promise<Response> {
  const token = held();
  const response = await send(token);
  if (response.status !== 401) return response;
  await Promise.race([reopened(token), aborted(signal)]);
  return send(held());
}

export const throughDoor = (request: Request): Promise<Response> => admitted((token) => sent(request, token), request.signal);

/** Send a file, and tell which share of it is on its way: a browser tells that of this kind of request alone. */
export const fileThroughDoor = (
  address: string,
  file: Blob,
  headers: Record<string, string>,
  told: (share: number) => void,
  signal: AbortSignal,
): Promise<Response> => admitted((token) => patiently(() => fileSent(address, file, { ...headers, "Collum-Session": token ?? "" }, told, signal)), signal);

function fileSent(address: string, file: Blob, headers: Record<string, string>, told: (share: number) => void, signal: AbortSignal): Promise<Response> {
  const request = new XMLHttpRequest();
  const stop = (): void => request.abort();
  return new Promise<Response>((resolve, reject) => {
    signal.throwIfAborted();
    signal.addEventListener("abort", stop);
    request.open("POST", address);
    for (const [name, value] of Object.entries(headers)) request.setRequestHeader(name, value);
    request.upload.onprogress = ({ loaded, total }) => told(loaded / total);
    request.onload = () => resolve(new Response(request.responseText, { status: request.status }));
    request.onerror = () => reject(new TypeError("the server did not answer"));
    request.onabort = () => reject(signal.reason as Error);
    request.send(file);
  }).finally(() => signal.removeEventListener("abort", stop));
}

const client = createClient<paths>({ baseUrl: ".", fetch: (request) => sent(request, held()) });
const params = { header: { "Collum-Session": "" } };

let reopening: Promise<void> | null = null;

/** Come back to a session after `refused` was none; all that wait come back together. */
function reopened(refused: string | null): Promise<void> {
  if (held() !== null && held() !== refused) return Promise.resolve();
  reopening ??= reopen().finally(() => {
    reopening = null;
  });
  return reopening;
}

async function reopen(): Promise<void> {
  const before = sessionStorage.getItem(INSTANCE);
  sessionStorage.removeItem(TOKEN);
  const { opened, instance } = await prove();
  say({ again: before !== null && before !== instance });
  if (!opened) await linked();
}

/** Come to a session when the page is opened: by this link, else by what this tab, this browser or another tab has. */
export async function enter(link: string | null): Promise<void> {
  if (link !== null && (await useLink(link))) return;
  if (held() === null && !(await prove()).opened) await linked();
}

/** Use a one-time link; false where it was used before or has expired. */
export async function useLink(link: string): Promise<boolean> {
  const { data } = await client.POST("/api/v1/session", { body: { link } });
  say({ used: data === undefined });
  if (data === undefined) return false;
  entered(data);
  await prove(); // so that the session of a kept browser is known as its own
  return true;
}

/** Prove by its key that this browser is kept; `instance` is the server that was asked. */
async function prove(): Promise<{ opened: boolean; instance: string }> {
  const keys = await keptKeys();
  const { data: asked } = await client.POST("/api/v1/session/challenge", { body: { browsers: keys.map((kept) => kept.browser) } });
  const kept = keys.find(({ browser }) => browser === asked?.browser);
  if (asked === undefined || kept === undefined) return { opened: false, instance: asked?.instance ?? "" };
  const signature = await signed(kept.key, [PURPOSE, asked.nonce, asked.instance, location.origin].join("\n"));
  const { data } = await client.POST("/api/v1/session/proof", { body: { browser: kept.browser, nonce: asked.nonce, signature } });
  if (data !== undefined) entered(data);
  return { opened: data !== undefined, instance: asked.instance };
}

// Tabs of one browser at this address help each other: one that is open asks the server for a link and hands it on.

type Message = { wanted: string } | { tab: string; link: string } | { opened: true };
const tabs = new BroadcastChannel("collum-door");
const me = crypto.randomUUID();
let waiting: (() => void) | null = null;

/** Wait until a link was used here, or another tab handed one on. */
async function linked(): Promise<void> {
  const saying = setTimeout(() => say({ shut: true }), TAB_ANSWERS_MS);
  await new Promise<void>((resolve) => {
    waiting = resolve;
    tell({ wanted: me });
  });
  clearTimeout(saying);
  say({ shut: false });
}

function entered({ token, instance }: { token: string; instance: string }): void {
  sessionStorage.setItem(TOKEN, token);
  sessionStorage.setItem(INSTANCE, instance);
  waiting?.();
  waiting = null;
  tell({ opened: true });
}

const tell = (message: Message): void => tabs.postMessage(message);

tabs.onmessage = ({ data }: MessageEvent<Message>) => {
  if ("wanted" in data) void handOn(data.wanted);
  else if (waiting === null) return;
  else if ("opened" in data) tell({ wanted: me });
  else if (data.tab === me) void useLink(data.link);
};

async function handOn(tab: string): Promise<void> {
  if (held() === null) return;
  const { data } = await client.POST("/api/v1/session/link", { params, body: { tab } });
  if (data !== undefined) tell(data);
}

const aborted = (signal: AbortSignal): Promise<never> =>
  new Promise((_, reject) => {
    const refuse = (): void => reject(signal.reason as Error);
    if (signal.aborted) refuse();
    else signal.addEventListener("abort", refuse, { once: true });
  });
