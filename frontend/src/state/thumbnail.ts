// A small picture of a picture, made by the page: nothing of a file is ever drawn by the server.

const SIDE_PX = 120;
const QUALITIES = [0.7, 0.5, 0.3] as const;
/** What fits into the head of a request, in base 64. */
const MOST_CHARACTERS = 8192;

/** A JPEG in base 64; null where the file is no picture that this browser can draw. */
export async function thumbnailOf(file: Blob): Promise<string | null> {
  let picture: ImageBitmap;
  try {
    picture = await createImageBitmap(file);
  } catch {
    return null;
  }
  const scale = Math.min(1, SIDE_PX / Math.max(picture.width, picture.height));
  const canvas = new OffscreenCanvas(Math.max(1, Math.round(picture.width * scale)), Math.max(1, Math.round(picture.height * scale)));
  canvas.getContext("2d")?.drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  for (const quality of QUALITIES) {
    const made = inBase64(new Uint8Array(await (await canvas.convertToBlob({ type: "image/jpeg", quality })).arrayBuffer()));
    if (made.length <= MOST_CHARACTERS) return made;
  }
  return null;
}

const inBase64 = (bytes: Uint8Array): string => btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(""));

/** A picture in base 64 as something that can be shown. */
export function pictureOf(base64: string): Blob {
  const bytes = Uint8Array.from(atob(base64), (character) => character.charCodeAt(0));
  return new Blob([bytes], { type: bytes[0] === 0x89 ? "image/png" : "image/jpeg" });
}
