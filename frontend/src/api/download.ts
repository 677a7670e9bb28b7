// What is handed to the browser, which keeps it where its user keeps downloads.

/** A paper, under the code of its case and its kind. */
export const save = (paper: Blob, reference: string, kind: string): void => hand(paper, `${reference}-${kind}.pdf`);

/** A case as the case file it is, in JSON. */
export const saveCaseFile = (document: object, name: string): void =>
  hand(new Blob([`${JSON.stringify(document, null, 2)}\n`], { type: "application/json" }), `${name}.json`);

/** A file of a case, under a name made here. */
export const saveFile = (content: Blob, name: string): void => hand(content, name);

function hand(content: Blob, name: string): void {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(content);
  link.download = name.replace(/[^\w.-]/g, "_"); // of a code that was typed and is not saved yet, too
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}
