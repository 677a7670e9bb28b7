// Places round the neck as a ring seen from the biting end, as on a chart of the teeth: facial above in the upper jaw and below in the
// lower, mesial left or right as seen from outside the mouth.
const TURN = 360;

export interface Ring {
  inner: number;
  outer: number;
  facing: Facing;
}

/** Where two sides lie on the screen: mesial to the right (1) or left (-1), facial below (1) or above (-1). */
export interface Facing {
  mesial: 1 | -1;
  facial: 1 | -1;
}

/** How a tooth lies by its ISO number: on the patient's right side mesial is to the right of who looks from outside. */
export function facingOf(number: number): Facing {
  const quadrant = Math.floor(number / 10);
  return { mesial: quadrant === 1 || quadrant === 4 ? 1 : -1, facial: quadrant > 2 ? 1 : -1 };
}

export function pointAt(deg: number, radius: number, facing: Facing): { x: number; y: number } {
  const turn = (deg / TURN) * 2 * Math.PI;
  return { x: facing.mesial * radius * Math.sin(turn), y: facing.facial * radius * Math.cos(turn) };
}

/** The flag of an arc on which angles grow: y grows downwards, so that with mesial right and facial below it runs against the clock. */
const sweptBy = (way: number, facing: Facing): 0 | 1 => (way > 0 === facing.mesial * facing.facial > 0 ? 0 : 1);

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
    pointAt(start, ring.outer, ring.facing),
    pointAt(end, ring.outer, ring.facing),
    pointAt(end, ring.inner, ring.facing),
    pointAt(start, ring.inner, ring.facing),
  ].map(({ x, y }) => `${x.toFixed(1)} ${y.toFixed(1)}`);
  const large = Math.abs(end - start) > TURN / 2 ? 1 : 0;
  const onward = sweptBy(way, ring.facing);
  return `M${corners[0]}A${ring.outer} ${ring.outer} 0 ${large} ${onward} ${corners[1]}L${corners[2]}A${ring.inner} ${ring.inner} 0 ${large} ${1 - onward} ${corners[3]}Z`;
}

/** The line of a stroke outside the ring, from where it begins to where it ends, and the two ends of its arrow. */
export function strokeLine(radius: number, facing: Facing, from: number, to: number): string {
  const way = sweep(from, to);
  const turned = Math.sign(way);
  const [a, b] = [pointAt(from + turned * 9, radius, facing), pointAt(from + way - turned * 9, radius, facing)];
  const back = from + way - turned * 15;
  const [left, along] = [pointAt(back, radius - 5, facing), pointAt(back, radius + 5, facing)];
  const at = ({ x, y }: { x: number; y: number }): string => `${x.toFixed(1)} ${y.toFixed(1)}`;
  const onward = sweptBy(way, facing);
  return `M${at(a)}A${radius} ${radius} 0 0 ${onward} ${at(b)}M${at(left)}L${at(b)}L${at(along)}`;
}

/** A closed line round the ring whose distance from the middle is a share of `whole` at each of evenly spread angles. */
export function roundLine(shares: readonly number[], whole: number, facing: Facing): string {
  const points = shares.map((share, i) => pointAt((i * TURN) / shares.length, share * whole, facing));
  return `M${points.map(({ x, y }) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L")}Z`;
}

/** Where words about a mark stand so that they clear it, further inwards where the mark lies beside them. */
export function inwards(deg: number, radius: number, facing: Facing): { x: number; y: number } {
  const beside = Math.abs(Math.sin((deg / TURN) * 2 * Math.PI));
  return pointAt(deg, Math.max(0, radius - 22 - 14 * beside), facing);
}
