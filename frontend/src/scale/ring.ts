// Places round the neck as a ring seen from the biting end: facial towards the reader, mesial left or right as in the mouth.
const TURN = 360;

export interface Ring {
  inner: number;
  outer: number;
  /** Whether the tooth is on the patient's right side, where mesial lies to the right of who looks from outside. */
  right: boolean;
}

export const isRight = (number: number): boolean => [1, 4].includes(Math.floor(number / 10));

export function pointAt(deg: number, radius: number, right: boolean): { x: number; y: number } {
  const turn = (deg / TURN) * 2 * Math.PI;
  return { x: (right ? 1 : -1) * radius * Math.sin(turn), y: radius * Math.cos(turn) };
}

/** The shorter way from one angle to another, -180 to 180; a whole turn where they are the same. [deg] */
export function sweep(from: number, to: number): number {
  const way = ((to - from + TURN + TURN / 2) % TURN) - TURN / 2;
  return way === 0 ? TURN : way;
}

/** A piece of the ring from one angle to another by the shorter way, `gap` degrees shorter at both ends. */
export function piece(ring: Ring, from: number, to: number, gap = 0): string {
  const way = sweep(from, to);
  const turned = Math.sign(way);
  const [start, end] = [from + turned * gap, from + way - turned * gap];
  const corners = [
    pointAt(start, ring.outer, ring.right),
    pointAt(end, ring.outer, ring.right),
    pointAt(end, ring.inner, ring.right),
    pointAt(start, ring.inner, ring.right),
  ].map(({ x, y }) => `${x.toFixed(1)} ${y.toFixed(1)}`);
  const large = Math.abs(end - start) > TURN / 2 ? 1 : 0;
  // On the screen y grows downwards, so that growing angles run against the clock on the right side of the patient.
  const onward = way > 0 === ring.right ? 0 : 1;
  return `M${corners[0]}A${ring.outer} ${ring.outer} 0 ${large} ${onward} ${corners[1]}L${corners[2]}A${ring.inner} ${ring.inner} 0 ${large} ${1 - onward} ${corners[3]}Z`;
}

/** The line of a stroke outside the ring, from where it begins to where it ends, and the two ends of its arrow. */
export function strokeLine(radius: number, right: boolean, from: number, to: number): string {
  const way = sweep(from, to);
  const turned = Math.sign(way);
  const [a, b] = [pointAt(from + turned * 9, radius, right), pointAt(from + way - turned * 9, radius, right)];
  const back = from + way - turned * 15;
  const [left, along] = [pointAt(back, radius - 5, right), pointAt(back, radius + 5, right)];
  const at = ({ x, y }: { x: number; y: number }): string => `${x.toFixed(1)} ${y.toFixed(1)}`;
  const onward = way > 0 === right ? 0 : 1;
  return `M${at(a)}A${radius} ${radius} 0 0 ${onward} ${at(b)}M${at(left)}L${at(b)}L${at(along)}`;
}

/** A closed line round the ring whose distance from the middle is a share of `whole` at each of evenly spread angles. */
export function roundLine(shares: readonly number[], whole: number, right: boolean): string {
  const points = shares.map((share, i) => pointAt((i * TURN) / shares.length, share * whole, right));
  return `M${points.map(({ x, y }) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L")}Z`;
}

/** Where words about a mark stand so that they clear it, further inwards where the mark lies beside them. */
export function inwards(deg: number, radius: number, right: boolean): { x: number; y: number } {
  const beside = Math.abs(Math.sin((deg / TURN) * 2 * Math.PI));
  return pointAt(deg, Math.max(0, radius - 22 - 14 * beside), right);
}
