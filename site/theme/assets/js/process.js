'use strict';

/* The walk: a format's real section at every station, at one scale, with the numbers beside it. */
(function () {
  const { draw, make, term } = window.sizebookKit;
  const shape = window.sizebookShape;
  const THICKNESS = [1, 3, 10];
  const DURATION = 700;
  const AROUND = 7;
  const CLOSER = 4;
  const TOOLS = {
    punch: 'punch', ring: 'ring', die: 'die', holder: 'holder', domer: 'domer', pilot: 'pilot', blankholder: 'draw pad',
  };

  for (const place of document.querySelectorAll('.sb-process')) {
    const data = window.sizebookProcess;
    if (data?.id === place.dataset.process) start(place, data);
    else place.textContent = 'The sections of this format are not in this site build.';
  }

  function start(place, { title, stations, terms }) {
    let now = Math.max(0, stations.findIndex((one) => `#${one.id}` === location.hash));
    let times = 1;
    let frame = 0;

    const { wide, low, high } = shape.extent(stations, THICKNESS.at(-1));
    const whole = { x: -wide - AROUND, y: -high - AROUND, w: 2 * (wide + AROUND), h: high - low + 2 * AROUND };
    let closer = false;
    const before = draw('path', { class: 'before' });
    const tools = draw('g', { class: 'tools' });
    const metals = draw('g', { class: 'metals' });
    const names = draw('g', { class: 'names' });
    const bar = draw('g', { class: 'scale' });
    const svg = draw('svg', { role: 'img' },
      draw('path', { class: 'axis', d: `M0 ${whole.y}V${whole.y + whole.h}` }), tools, before, metals, names, bar);
    const note = make('p', { class: 'sb-process__note' });

    const slider = make('input', { type: 'range', class: 'sb-process__slider', min: 1, max: stations.length, step: 1, 'aria-label': 'Station', on: { input: () => go(slider.value - 1) } });
    const back = make('button', { type: 'button', class: 'sb-button', on: { click: () => go(now - 1) } }, '‹ Back');
    const next = make('button', { type: 'button', class: 'sb-button main', on: { click: () => go(now + 1) } }, 'Next ›');
    const thick = THICKNESS.map((one) => make('button', { type: 'button', class: 'sb-button', on: { click: () => thicken(one) } },
      one === 1 ? '×1 true' : `×${one}`));
    const near = make('button', { type: 'button', class: 'sb-button', on: { click: approach } });
    const strip = stations.map((one, i) => make('li', {}, make('button', { type: 'button', on: { click: () => go(i) } },
      thumb(one, whole), make('span', {}, one.name))));

    const said = make('p', { class: 'sb-quiet', role: 'status', 'aria-live': 'polite' });
    const count = make('p', { class: 'sb-process__count' });
    const name = make('h2', { class: 'sb-process__name' });
    const say = make('p', { class: 'sb-process__say' });
    const body = make('tbody');
    const table = make('table', { class: 'sb-table' },
      make('caption', { class: 'sb-quiet' }, 'Numbers of this station'),
      make('thead', { class: 'sb-quiet' }, make('tr', {}, ['What', 'Value', 'Unit'].map((one) => make('th', { scope: 'col' }, one)))), body);

    place.replaceChildren(
      make('ol', { class: 'sb-process__strip', 'aria-label': 'Stations' }, strip),
      make('div', { class: 'sb-process__stage' },
        make('div', { class: 'sb-process__head' },
          make('div', { class: 'sb-process__steps' }, back, next), name, count),
        make('figure', {}, svg, note,
          make('div', { class: 'sb-process__look' },
            make('div', { role: 'group', 'aria-label': 'Thickness drawn' }, make('span', { 'aria-hidden': 'true' }, 'Thickness'), thick), near)),
        make('div', { class: 'sb-process__words' }, slider, say, make('div', { class: 'sb-scroll' }, table), said)));
    document.addEventListener('keydown', keyed);
    window.addEventListener('hashchange', () => go(stations.findIndex((one) => `#${one.id}` === location.hash)));
    show(now);

    function keyed(event) {
      if (event.altKey || event.ctrlKey || event.metaKey || event.target.closest?.('input, select, textarea, .sb-scroll')) return;
      const to = { ArrowRight: now + 1, ArrowLeft: now - 1, Home: 0, End: stations.length - 1 }[event.key];
      if (to === undefined) return;
      event.preventDefault();
      go(to);
    }

    function go(to) {
      if (to < 0 || to >= stations.length || to === now) return;
      const from = now;
      now = to;
      history.replaceState(history.state, '', `#${stations[now].id}`);
      describe();
      const still = matchMedia('(prefers-reduced-motion: reduce)').matches || Math.abs(to - from) > 1;
      cancelAnimationFrame(frame);
      if (still) show(now);
      else turn(stations[from], stations[now]);
    }

    function thicken(one) {
      times = one;
      cancelAnimationFrame(frame);
      show(now);
    }

    function approach() {
      closer = !closer;
      cancelAnimationFrame(frame);
      show(now);
    }

    /* --- drawing --- */

    /** What is seen: all of it, or a part of it about the ring, or about the rim where there is none. */
    function seen(station) {
      if (!closer) return whole;
      const [r, z] = ringOf(station)?.outline[1] ?? metal(station)[0].inner.at(-1);
      const [w, h] = [whole.w / CLOSER, whole.h / CLOSER];
      return { x: r - w * 0.6, y: -z - h * 0.25, w, h };
    }

    function show(i) {
      describe();
      const station = stations[i];
      const view = seen(station);
      svg.setAttribute('viewBox', `${view.x} ${view.y} ${view.w} ${view.h}`);
      bar.replaceChildren(...scaleBar(view));
      place.dataset.shown = station.id;
      const parts = metal(station);
      metals.replaceChildren(...parts.map((part) => draw('path', { d: shape.metalPath(part, times) })));
      tools.replaceChildren(...toolsOf(station));
      tools.style.opacity = 1;
      names.replaceChildren(...namesOf(station, view));
      const last = i > 0 ? metal(stations[i - 1])[0] : null;
      before.setAttribute('d', last ? shape.open(last.inner) + shape.open(last.inner.map(([r, z]) => [-r, z])) : '');
    }

    function turn(from, to) {
      const pairs = metal(to).map((part, i) => [metal(from)[i] ?? part, part].map(shape.evenly));
      const began = performance.now();
      names.replaceChildren();
      before.setAttribute('d', '');
      metals.replaceChildren(...pairs.map(() => draw('path')));
      tools.replaceChildren(...toolsOf(to));
      (function step() {
        const time = Math.min((performance.now() - began) / DURATION, 1);
        if (time === 1) return show(now);
        const share = time * time * (3 - 2 * time);
        pairs.forEach(([a, b], i) => metals.children[i].setAttribute('d', shape.metalPath(shape.between(a, b, share), times)));
        tools.style.opacity = share;
        frame = requestAnimationFrame(step);
      })();
    }

    function outlines(station) {
      return station.parts.filter((part) => part.outline).map((part) => {
        return [part.role, shape.clearOf(part.outline, metal(station), times)];
      });
    }

    function toolsOf(station) {
      return outlines(station).map(([role, outline]) => draw('path', { class: role, d: shape.toolPath(outline) }));
    }

    function namesOf(station, view) {
      const size = view.w / 34;
      return outlines(station).map(([role, outline]) => {
        const inside = outline.map(([r, z]) => [kept(r, view.x, view.w), kept(-z, view.y, view.h)]);
        const middle = (k) => (Math.min(...inside.map((p) => p[k])) + Math.max(...inside.map((p) => p[k]))) / 2;
        const x = !closer && inside.some(([r]) => r === 0) ? 0 : middle(0);
        return draw('text', { x, y: middle(1) + size / 3, 'font-size': size }, TOOLS[role] ?? role);
      });
    }

    /* --- words and numbers --- */

    function describe() {
      const station = stations[now];
      count.textContent = `Station ${now + 1} of ${stations.length}`;
      name.textContent = station.name;
      say.textContent = station.say;
      said.textContent = `${station.name}, station ${now + 1} of ${stations.length}. ${station.say}`;
      body.replaceChildren(...station.numbers.map(([words, value, unit]) => make('tr', {},
        make('th', { scope: 'row' }, term(words, terms)), make('td', { class: 'n' }, String(value)), make('td', { class: 'sb-unit' }, unit))));
      slider.value = now + 1;
      slider.setAttribute('aria-valuetext', `${now + 1}, ${station.name}`);
      back.disabled = now === 0;
      next.disabled = now === stations.length - 1;
      svg.setAttribute('aria-label', `Section of the ${title} at ${station.name}, drawn to scale; the numbers are in the table.`);
      note.textContent = `${times === 1 ? 'Metal as thick as it is' : `Metal drawn ${times} times as thick as it is`}; every station to the same scale. Dashed: inside of the station before.`;
      near.textContent = `${ringOf(station) ? 'Ring' : 'Rim'}, ${CLOSER} times closer`;
      near.setAttribute('aria-pressed', String(closer));
      thick.forEach((button, i) => button.setAttribute('aria-pressed', String(THICKNESS[i] === times)));
      strip.forEach((one, i) => (i === now ? one.firstChild.setAttribute('aria-current', 'step') : one.firstChild.removeAttribute('aria-current')));
      const here = strip[now];
      here.parentElement?.scrollTo({ left: here.offsetLeft - here.parentElement.clientWidth / 2 + here.offsetWidth / 2 });
    }
  }

  function metal(station) {
    return station.parts.filter((part) => part.role === 'metal');
  }

  /** The ring that works at a station, the first where there are several. */
  function ringOf(station) {
    return station.parts.find((part) => part.role === 'ring');
  }

  function thumb(station, view) {
    return draw('svg', { viewBox: `${view.x} ${view.y} ${view.w} ${view.h}`, 'aria-hidden': 'true' },
      metal(station).map((part) => draw('path', { d: shape.metalPath(part, 10) })));
  }

  function kept(number, from, length) {
    return Math.max(from, Math.min(number, from + length));
  }

  /** A bar of so many mm in the corner. */
  function scaleBar(view) {
    const length = [50, 20, 10, 5].find((one) => one < view.w / 4) ?? 2;
    const size = view.w / 34;
    const [x, y] = [view.x + size / 2, view.y + view.h - size / 2];
    return [
      draw('path', { d: `M${x} ${y - size / 3}v${size / 3}h${length}v${-size / 3}` }),
      draw('text', { x: x + length / 2, y: y - size / 2, 'font-size': size }, `${length} mm`),
    ];
  }
})();
