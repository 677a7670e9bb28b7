// What a browser keeps of an open case over a reload of the page and a new start of the server; of an encrypted record also over
// the lock and a crash of the tab, and then as ciphertext alone, under a key that the page has only while the record is open.
import type { CaseDocument } from "../api/client";
import type { History } from "./history";
import type { Clash } from "./merge";
import type { Kept } from "./saver";

export interface KeptCase extends Kept<CaseDocument> {
  history: History<CaseDocument>;
  clashes: Clash[];
  /** What was typed and not entered, by place; an earlier version kept none. */
  typing?: Record<string, string>;
}

/** Steps to undo that are kept: fewer where the browser has no room for all of them. */
const STEPS = [200, 10, 0] as const;
const CLEAR = "collum-case-";
const SEALED = "collum-draft-";
const CIPHER = "AES-GCM";
const NONCE_BYTES = 12;
const HANDING_ON = "collum-drafts";

let keeping: "nothing" | "clear" | CryptoKey = "nothing";
/** This page; its lock tells the others that it lives, and ends with it however it ends. */
const page = crypto.randomUUID();
let lives = false;
const livesAs = (of: string): string => `collum-page-${of}`;
/** What is to be written next, null where nothing is to be kept any more; and the writing of it. */
const waiting = new Map<string, KeptCase | null>();
let writing: Promise<void> = Promise.resolve();

/** Keep what is typed under a key of an open record (base 64); clear in one that is not encrypted. */
export async function keepUnder(key: string | null): Promise<void> {
  if (key === null) {
    keeping = "clear";
    return;
  }
  const raw = Uint8Array.from(atob(key), (sign) => sign.charCodeAt(0));
  keeping = await crypto.subtle.importKey("raw", raw, CIPHER, false, ["encrypt", "decrypt"]);
  raw.fill(0);
  for (const name of Object.keys(sessionStorage)) if (name.startsWith(CLEAR)) sessionStorage.removeItem(name);
  if (!lives) void navigator.locks.request(livesAs(page), () => new Promise<void>(() => undefined));
  lives = true;
}

/** Drop the key; what was written before stays. */
export function keepNothing(): void {
  keeping = "nothing";
}

/** Once all that was typed so far is written. */
export const written = (): Promise<void> => writing;

/** Keep a case. In an encrypted record only what is not `saved` outlives the page. */
export function keep(caseId: string, kept: KeptCase, saved: boolean): void {
  if (keeping === "nothing") return;
  if (keeping === "clear") {
    for (const text of texts(kept)) if (stored(() => sessionStorage.setItem(CLEAR + caseId, text))) return;
    return;
  }
  const key = keeping;
  waiting.set(caseId, saved ? null : kept);
  writing = writing.then(() => writeAll(key));
}

/** What was kept of a case, here or by a page that is gone; null where nothing was. */
export async function keptOf(caseId: string): Promise<KeptCase | null> {
  if (keeping === "nothing") return null;
  if (keeping === "clear") {
    const kept = JSON.parse(sessionStorage.getItem(CLEAR + caseId) ?? "null") as Partial<KeptCase> | null;
    return kept?.document === undefined ? null : (kept as KeptCase); // an earlier version kept less
  }
  const key = keeping;
  await writing;
  return navigator.locks.request(HANDING_ON, async () => {
    for (const found of (await mine()).filter((one) => one.caseId === caseId)) {
      const text = await opened(key, found.name);
      if (text === null) continue; // another user's
      const kept = JSON.parse(text) as KeptCase;
      await write(key, caseId, kept);
      if (found.page !== page) localStorage.removeItem(found.name);
      return kept;
    }
    return null;
  });
}

/** The cases of which something unsaved was kept, here or by pages that are gone. */
export async function keptCases(): Promise<string[]> {
  return keeping instanceof CryptoKey ? [...new Set((await mine()).map((found) => found.caseId))] : [];
}

interface Found {
  name: string;
  page: string;
  caseId: string;
}

/** What was kept by this page, before what was kept by pages that are gone. */
async function mine(): Promise<Found[]> {
  const held = (await navigator.locks.query()).held ?? [];
  const alive = new Set(held.map((lock) => lock.name));
  const found = Object.keys(localStorage).flatMap((name): Found[] => {
    const [, by, caseId] = /^collum-draft-([0-9a-f-]{36})-([0-9a-f-]{36})$/.exec(name) ?? [];
    return by === undefined || caseId === undefined ? [] : [{ name, page: by, caseId }];
  });
  return [...found.filter((one) => one.page === page), ...found.filter((one) => !alive.has(livesAs(one.page)) && one.page !== page)];
}

async function writeAll(key: CryptoKey): Promise<void> {
  for (const [caseId, kept] of waiting) {
    waiting.delete(caseId);
    await write(key, caseId, kept);
  }
}

async function write(key: CryptoKey, caseId: string, kept: KeptCase | null): Promise<void> {
  const name = `${SEALED}${page}-${caseId}`;
  if (kept === null) return localStorage.removeItem(name);
  for (const text of texts(kept)) {
    const closed = await sealed(key, name, text);
    if (stored(() => localStorage.setItem(name, closed))) return;
  }
}

function* texts(kept: KeptCase): Generator<string> {
  const { past, now, future } = kept.history;
  for (const steps of STEPS) {
    const history = { past: past.slice(Math.max(0, past.length - steps)), now, future: future.slice(0, steps / 4) };
    yield JSON.stringify({ ...kept, history });
  }
}

/** Store; false where the browser has no room for it. */
function stored(put: () => void): boolean {
  try {
    put();
    return true;
  } catch (error) {
    if (error instanceof DOMException) return false;
    throw error;
  }
}

/** The name goes in with it, so that what was kept of one case opens under no other. */
const cipher = (nonce: Uint8Array<ArrayBuffer>, name: string): AesGcmParams => ({ name: CIPHER, iv: nonce, additionalData: new TextEncoder().encode(name) });

async function sealed(key: CryptoKey, name: string, text: string): Promise<string> {
  const nonce = crypto.getRandomValues(new Uint8Array(NONCE_BYTES));
  const closed = new Uint8Array(await crypto.subtle.encrypt(cipher(nonce, name), key, new TextEncoder().encode(text)));
  return btoa(Array.from([...nonce, ...closed], (byte) => String.fromCharCode(byte)).join(""));
}

async function opened(key: CryptoKey, name: string): Promise<string | null> {
  try {
    const bytes = Uint8Array.from(atob(localStorage.getItem(name) ?? ""), (sign) => sign.charCodeAt(0));
    const nonce = bytes.slice(0, NONCE_BYTES);
    return new TextDecoder().decode(await crypto.subtle.decrypt(cipher(nonce, name), key, bytes.slice(NONCE_BYTES)));
  } catch {
    return null;
  }
}
