// A paper handed to the browser, which keeps it where its user keeps downloads.
export function save(paper: Blob, name: string): void {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(paper);
  link.download = `${name}.pdf`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}
