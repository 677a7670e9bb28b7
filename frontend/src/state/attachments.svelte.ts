// The files of a case: listed, added with their progress, taken out. What is on its way goes on while another leaf is looked at.
import * as api from "../api/client";
import { t } from "../words";
import { onDrop } from "./benches";
import { thumbnailOf } from "./thumbnail";
import { toldOf } from "./told";

export type Kind = api.Attachment["kind"];
export const KINDS: readonly Kind[] = ["radiograph", "photograph", "scan", "letter", "other"];
const MEGABYTE = 1_000_000;
const PICTURES: readonly string[] = ["image/png", "image/jpeg"];

/** Whether a file can be shown on the screen. */
export const isPicture = (file: api.Attachment): boolean => PICTURES.includes(file.media_type);

/** A size as it is read: never 0 of something that is there. */
export const sizeOf = (bytes: number): string =>
  bytes < MEGABYTE ? t("screen.files.kilobytes", { size: Math.ceil(bytes / 1000) }) : t("screen.files.megabytes", { size: (bytes / MEGABYTE).toFixed(1) });

export class Attachments {
  files = $state.raw<api.Attachment[] | null>(null);
  /** Which share of a file is on its way; null where none is. */
  share = $state<number | null>(null);
  refused = $state.raw<string[]>([]);
  readonly #caseId: string;
  #mostBytes = Infinity;
  #sending: AbortController | null = null;

  constructor(caseId: string) {
    this.#caseId = caseId;
  }

  // Worked out when they are read: the files of a case outlive the page that first asked for them.
  get kept(): api.Attachment[] {
    return this.files?.filter((file) => file.removed === null) ?? [];
  }

  get removed(): api.Attachment[] {
    return this.files?.filter((file) => file.removed !== null) ?? [];
  }

  load(): Promise<boolean> {
    return this.#tried(async () => {
      const found = await api.listAttachments(this.#caseId);
      this.#mostBytes = found.most_bytes;
      this.files = found.attachments;
    });
  }

  /** Add a file; false where it was not kept. */
  async add(file: File, label: Omit<api.AttachmentLabel, "name">): Promise<boolean> {
    if (file.size > this.#mostBytes) {
      this.refused = [t("screen.files.large", { most: sizeOf(this.#mostBytes), size: sizeOf(file.size) })];
      return false;
    }
    const mine = (this.#sending = new AbortController());
    this.share = 0;
    try {
      return await this.#tried(async () => {
        const thumbnail = PICTURES.includes(file.type) ? await thumbnailOf(file) : null;
        const told = (share: number): void => void (this.share = share);
        const made = await api.addAttachment(this.#caseId, file, { ...label, name: file.name.slice(-200) }, thumbnail, told, mine.signal);
        this.files = [...(this.files ?? []), made];
      });
    } finally {
      this.share = null;
    }
  }

  /** Stop what is on its way: nothing of it is kept. */
  cancel(): void {
    this.#sending?.abort();
  }

  remove(file: api.Attachment, reason: string): Promise<boolean> {
    return this.#tried(async () => {
      const removed = await api.removeAttachment(this.#caseId, file.attachment_id, reason);
      this.files = this.files?.map((one) => (one.attachment_id === removed.attachment_id ? removed : one)) ?? null;
    });
  }

  /** What a file holds; null where it cannot be given. */
  async content(file: api.Attachment): Promise<Blob | null> {
    let found: Blob | null = null;
    await this.#tried(async () => {
      found = (await api.openAttachment(this.#caseId, file.attachment_id)).slice(0, undefined, file.media_type);
    });
    return found;
  }

  async #tried(work: () => Promise<void>): Promise<boolean> {
    this.refused = [];
    try {
      await work();
      return true;
    } catch (error) {
      const stopped = error instanceof DOMException && error.name === "AbortError";
      this.refused = stopped ? [t("screen.files.cancelled")] : toldOf(error);
      return false;
    }
  }
}

let known: Record<string, Attachments> = {};

/** The files of a case: the same until the record is locked. */
export const attachmentsOf = (caseId: string): Attachments => (known[caseId] ??= new Attachments(caseId));

onDrop(() => {
  for (const one of Object.values(known)) one.cancel();
  known = {};
});
