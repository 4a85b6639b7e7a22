'use strict';

/* The geometry of the walk: closed outlines from half sections, thickness exaggerated, one shape turned into the next. */
window.sizebookShape = (function () {
  const POINTS = 240;
  const NEAR_AXIS = 1e-6;

  /** The outside of a part with its thickness taken `times` times. */
  function thickened({ inner, outer }, times) {
    return outer.map(([r, z], i) => [inner[i][0] + times * (r - inner[i][0]), inner[i][1] + times * (z - inner[i][1])]);
  }

  /** A metal part on both sides of the axis as a path; z is up, the page's y is down. */
  function metalPath(part, times) {
    const outer = thickened(part, times);
    const loop = [...part.inner, ...[...outer].reverse()];
    return bothSides(loop, Math.abs(part.inner[0][0]) < NEAR_AXIS);
  }

  /** A closed outline and its mirror image: one loop if it meets the axis, otherwise two. */
  function bothSides(loop, onAxis) {
    if (!onAxis) return closed(loop) + closed(mirrored(loop));
    return closed([...loop, ...mirrored(loop).reverse()]);
  }

  function toolPath(outline) {
    const first = outline.findIndex((point, i) => {
      const before = outline.at(i - 1);
      return Math.abs(point[0]) < NEAR_AXIS && Math.abs(before[0]) < NEAR_AXIS;
    });
    const turned = first < 0 ? outline : [...outline.slice(first), ...outline.slice(0, first)];
    return bothSides(turned, first >= 0);
  }

  function mirrored(points) {
    return points.map(([r, z]) => [-r, z]);
  }

  function closed(points) {
    return `${open(points)}Z`;
  }

  function open(points) {
    return `M${points.map(([r, z]) => `${round(r)} ${round(-z)}`).join('L')}`;
  }

  function round(number) {
    return Math.round(number * 1e4) / 1e4;
  }

  /** A tool moved out of the way of metal drawn thicker than it is: as far as the surface it touches has moved. */
  function clearOf(outline, metals, times) {
    if (times === 1) return outline;
    let best = { gap: Infinity, shift: [0, 0] };
    for (const { inner, outer } of metals) {
      outer.forEach((point, i) => {
        for (const corner of outline) {
          const out = Math.hypot(corner[0] - point[0], corner[1] - point[1]);
          const within = Math.hypot(corner[0] - inner[i][0], corner[1] - inner[i][1]);
          if (out < best.gap && out < within) best = { gap: out, shift: [point[0] - inner[i][0], point[1] - inner[i][1]] };
          else if (within < best.gap && within < out) best = { gap: within, shift: [0, 0] };
        }
      });
    }
    return outline.map(([r, z]) => [Math.abs(r) < NEAR_AXIS ? r : r + (times - 1) * best.shift[0], z + (times - 1) * best.shift[1]]);
  }

  /** A part as so many pairs of points, each with the same share of the metal below it: metal keeps its place. */
  function evenly(part) {
    const shares = [0];
    for (let i = 1; i < part.inner.length; i++) shares.push(shares[i - 1] + metalBetween(part, i - 1, i));
    const whole = shares.at(-1) || 1;
    const pairs = { inner: [], outer: [] };
    let at = 0;
    for (let n = 0; n < POINTS; n++) {
      const share = (n / (POINTS - 1)) * whole;
      while (at < shares.length - 2 && shares[at + 1] < share) at++;
      const step = shares[at + 1] - shares[at];
      const between = step > 0 ? Math.min((share - shares[at]) / step, 1) : 0;
      for (const side of ['inner', 'outer']) pairs[side].push(mixed(part[side][at], part[side][at + 1], between));
    }
    return pairs;
  }

  /** Metal between two neighbouring pairs of points, over 2 π. */
  function metalBetween({ inner, outer }, i, j) {
    const radius = (inner[i][0] + inner[j][0] + outer[i][0] + outer[j][0]) / 4;
    const [ax, ay] = [outer[j][0] - inner[i][0], outer[j][1] - inner[i][1]];
    const [bx, by] = [outer[i][0] - inner[j][0], outer[i][1] - inner[j][1]];
    return Math.abs(radius * (ax * by - ay * bx)) / 2 + 1e-12;
  }

  function mixed(a, b, share) {
    return [a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share];
  }

  /** The shape between two parts, `share` of the way from one to the other; both made by `evenly`. */
  function between(one, other, share) {
    const side = (name) => one[name].map((point, i) => mixed(point, other[name][i], share));
    return { inner: side('inner'), outer: side('outer') };
  }

  /** Half width, bottom and top that hold the metal of all stations, drawn `times` times thick. */
  function extent(stations, times) {
    let [wide, low, high] = [0, 0, 0];
    for (const { parts } of stations) {
      for (const part of parts.filter((one) => one.role === 'metal')) {
        for (const [r, z] of [...part.inner, ...thickened(part, times)]) {
          wide = Math.max(wide, Math.abs(r));
          low = Math.min(low, z);
          high = Math.max(high, z);
        }
      }
    }
    return { wide, low, high };
  }

  return { between, clearOf, evenly, extent, metalPath, open, thickened, toolPath };
})();
