// What is handed to the browser, which keeps it where its user keeps downloads.

/** A paper, under the name of its kind. */
export const save = (paper: Blob, kind: string): void => hand(paper, `${kind}.pdf`);

/** A case as the case file it is, in JSON. */
export const saveCaseFile = (document: object, name: string): void =>
  hand(new Blob([`${JSON.stringify(document, null, 2)}\n`], { type: "application/json" }), `${name}.json`);

/** A file of a case, under a name made here. */
export const saveFile = (content: Blob, name: string): void => hand(content, name);

function hand(content: Blob, name: string): void {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(content);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}
