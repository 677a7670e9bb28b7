// How ranges over the published stiffness are shown: least to greatest, once where they print the same.
type Three = readonly number[] | null | undefined;

const minus = (text: string): string => text.replace("-", "−");

function range(values: Three, times: number): string {
  if (!values) return "–";
  const [low, high] = [Math.min(...values), Math.max(...values)].map((value) => minus((value * times).toFixed(0)));
  return low === high ? String(low) : `${low}–${high}`;
}

export const percents = (values: Three): string => (values ? `${range(values, 100)} %` : "–");
export const thousandths = (values: Three): string => range(values, 1000);
export const newtons = (value: number | undefined): string => (value === undefined ? "–" : value.toFixed(0));
