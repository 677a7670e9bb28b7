// The private half of a kept browser's key. The browser keeps it for this host and port alone and gives it to nobody, this page included.

const DATABASE = "collum-door";
const STORE = "keys";
const CURVE = { name: "ECDSA", namedCurve: "P-256" };
const SIGNING = { name: "ECDSA", hash: "SHA-256" };
/** Keys of this address: one practice and another may run on it by turns. The oldest gives way. */
const MOST_KEYS = 8;

interface KeptKey {
  browser: string;
  key: CryptoKey;
}

/** Whether this browser has what keeping needs. */
export const canKeep = (): boolean => typeof indexedDB !== "undefined" && (globalThis.crypto as Crypto | undefined)?.subtle !== undefined;

export async function makeKey(): Promise<{ key: CryptoKey; publicKey: string }> {
  const pair = await crypto.subtle.generateKey(CURVE, false, ["sign"]);
  return { key: pair.privateKey, publicKey: encoded(await crypto.subtle.exportKey("raw", pair.publicKey)) };
}

export const signed = async (key: CryptoKey, text: string): Promise<string> => encoded(await crypto.subtle.sign(SIGNING, key, new TextEncoder().encode(text)));

/** The keys kept here, the newest first; none where the browser stores nothing. */
export async function keptKeys(): Promise<KeptKey[]> {
  if (!canKeep()) return [];
  try {
    return (await withStore<KeptKey[]>("readonly", (store) => store.getAll() as IDBRequest<KeptKey[]>)).reverse();
  } catch {
    return [];
  }
}

/** Keep a key. Fails where the browser stores no keys, as some do in a private window. */
export async function keepKey(browser: string, key: CryptoKey): Promise<void> {
  const kept: KeptKey = { browser, key };
  await withStore("readwrite", (store) => store.add(kept));
  for (const old of (await keptKeys()).slice(MOST_KEYS)) await dropKey(old.browser);
}

export const dropKey = (browser: string): Promise<undefined> => withStore("readwrite", (store) => store.delete(browser));

async function withStore<T>(mode: IDBTransactionMode, work: (store: IDBObjectStore) => IDBRequest<T>): Promise<T> {
  const opening = indexedDB.open(DATABASE, 1);
  // Ids grow with time, so their order is that in which they were kept.
  opening.onupgradeneeded = () => opening.result.createObjectStore(STORE, { keyPath: "browser" });
  const database = await answered(opening);
  try {
    const transaction = database.transaction(STORE, mode);
    const found = answered(work(transaction.objectStore(STORE)));
    await new Promise((resolve, reject) => {
      transaction.oncomplete = resolve;
      transaction.onabort = () => reject(transaction.error ?? new Error("the browser stores nothing"));
    });
    return await found;
  } finally {
    database.close();
  }
}

const answered = <T>(request: IDBRequest<T>): Promise<T> =>
  new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error ?? new Error("the browser stores nothing"));
  });

const encoded = (bytes: ArrayBuffer): string =>
  btoa(String.fromCharCode(...new Uint8Array(bytes)))
    .replaceAll("+", "-")
    .replaceAll("/", "_")
    .replace(/=+$/, "");
