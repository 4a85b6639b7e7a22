'use strict';

/* Crew, what runs now, what comes next: three steps with buttons for gloves; the last leads to the plan. What was
   chosen is in the address, `changeovers/index.html#heron-days,b211-330`, so the browser's way back undoes a step. */
(function () {
  const { make, places } = window.sizebookKit;
  const STEPS = ['Line and crew', 'Running now', 'Next'];

  for (const place of places('changeover')) {
    if (window.sizebookChangeovers) start(place, window.sizebookChangeovers.crews);
  }

  function start(place, crews) {
    const out = make('div', { class: 'sb-steps' });
    const said = make('p', { class: 'sb-quiet', role: 'status' });
    place.replaceChildren(said, out);
    window.addEventListener('hashchange', () => show(true));
    show(false);

    function show(moved) {
      const chosen = read(crews);
      out.replaceChildren(steps(chosen), question(chosen));
      const head = out.querySelector('h2');
      said.textContent = head.textContent;
      if (moved) head.focus();
    }

    function question({ crew, old, new: next }) {
      if (!crew) return choice('Which crew?', crews.map((one) => button(one.title, one.id, `#${one.id}`)));
      if (!old) return choice('What runs there now?', crew.formats.map((one) => button(one.title, one.id, `#${crew.id},${one.id}`)));
      if (next) return answer(crew, old, next);
      return choice('What comes next?', crew.formats.filter((one) => one !== old).map((one) => {
        const pair = crew.pairs[`${old.id}>${one.id}`];
        const small = pair?.minutes === undefined ? one.id : `${one.id}, ${pair.minutes} min`;
        return button(one.title, small, pair?.href ?? `#${crew.id},${old.id},${one.id}`);
      }));
    }

    /** Where we are; what is chosen is a link back to its step. */
    function steps(chosen) {
      const values = [chosen.crew?.title, chosen.old?.title, chosen.new?.title];
      const ids = [chosen.crew?.id, chosen.old?.id];
      const rows = STEPS.map((words, i) => make('li', { 'aria-current': !values[i] && (i === 0 || values[i - 1]) ? 'step' : null },
        make('small', {}, `${i + 1} ${words}`),
        values[i] ? make('a', { class: 'sb-button', href: `#${ids.slice(0, i).join(',')}`, 'aria-label': `${words}: ${values[i]}. Choose another` }, values[i])
          : make('span', {}, '–')));
      return make('ol', { class: 'sb-steps__way' }, rows);
    }

    function choice(words, buttons) {
      return make('section', {}, make('h2', { tabindex: '-1' }, words), make('div', { class: 'sb-steps__choice' }, buttons));
    }

    function button(title, small, href) {
      return make('a', { class: 'sb-button', href }, make('b', {}, title), make('small', {}, small));
    }
  }

  /** What the address says, as far as this site build has it. */
  function read(crews) {
    const [crew, old, next] = decodeURIComponent(location.hash.slice(1)).split(',');
    const found = crews.find((one) => one.id === crew) ?? (crews.length === 1 ? crews[0] : null);
    const of = (id) => found?.formats.find((one) => one.id === id) ?? null;
    const goes = of(old);
    return { crew: found, old: goes, new: goes && old !== next ? of(next) : null };
  }

  /** A pair that has no page of its own, or whose whole address was typed. */
  function answer(crew, old, next) {
    const pair = crew.pairs[`${old.id}>${next.id}`];
    const head = make('h2', { tabindex: '-1' }, `${old.title} → ${next.title}`);
    if (!pair) return make('section', {}, head, make('p', {}, 'No changeover in this site build between these two formats.'));
    if (pair.why) return make('section', {}, head, make('p', { class: 'sb-note' }, make('strong', {}, 'Not possible. '), pair.why.join('; ')));
    const command = `sizebook changeover ${old.id} ${next.id} --line ${crew.line} --crew ${crew.id} --pdf`;
    return make('section', { class: 'sb-steps__answer' }, head, make('p', {}, `Typical stop ${pair.minutes} min.`),
      make('p', { class: 'sb-doors' }, pair.href ? make('a', { class: 'sb-button main', href: pair.href }, 'Plan and sheets') : ['Sheet: ', make('code', {}, command)]));
  }
})();
