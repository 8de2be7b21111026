// Places in plan held inside the walls of a room.

const nearest = ([ax, ay], [bx, by], [x, y]) => {
  const dx = bx - ax, dy = by - ay, t = Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy || 1)));
  return [ax + t * dx, ay + t * dy];
};

const edges = (rings) => rings.flatMap((ring) => ring.map((place, k) => [place, ring[(k + 1) % ring.length]]));

/** Whether a place lies inside closed lines, by the even-odd rule. */
export function inside(rings, [x, y]) {
  let odd = false;
  for (const [[ax, ay], [bx, by]] of edges(rings)) if (ay > y !== by > y && x < ax + ((y - ay) / (by - ay)) * (bx - ax)) odd = !odd;
  return odd;
}

/** The place itself, or the nearest one found that is inside and a margin off all walls; null where there is none near by. */
export function heldInside(rings, place, margin) {
  let now = place;
  for (let tries = 0; tries < 4; tries += 1) {
    let closest = null;
    for (const [a, b] of edges(rings)) {
      const at = nearest(a, b, now), off = Math.hypot(now[0] - at[0], now[1] - at[1]);
      if (!closest || off < closest.off) closest = { at, off, across: [b[1] - a[1], a[0] - b[0]] };
    }
    const within = inside(rings, now);
    if (!closest || (within && closest.off >= margin - 1e-9)) return now;
    const { at, off, across } = closest, length = Math.hypot(...across), sign = within ? 1 : -1;
    const way = off > 1e-6 ? [(sign * (now[0] - at[0])) / off, (sign * (now[1] - at[1])) / off] : across.map((each) => each / length);
    const put = (turn) => [at[0] + turn * margin * way[0], at[1] + turn * margin * way[1]];
    now = inside(rings, put(1)) ? put(1) : put(-1);
  }
  return inside(rings, now) ? now : null;
}
