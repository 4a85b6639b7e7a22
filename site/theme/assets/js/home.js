'use strict';

/* The card of a line: what runs now and what is next, from the published order and the reader's clock. */
(function () {
  const { places, shown, today } = window.sizebookKit;
  const moment = (text) => Date.parse(text.replace(' ', 'T'));
  const hour = (text) => (text.slice(0, 10) === today() ? `today ${text.slice(11)}` : `${shown(text.slice(0, 10))} ${text.slice(11)}`);

  for (const card of places('card')) show(card);

  function show(card) {
    const now = Date.now();
    const runs = [...card.querySelectorAll('.sb-runs > li')];
    const at = runs.findIndex((run) => now < moment(run.dataset.stop));
    const first = at < 0 ? runs.length - 1 : at;
    for (const [i, run] of runs.entries()) {
      run.hidden = i < first || i > first + 1 || at < 0;
      run.querySelector('.sb-when').textContent = word(run, i - first, now);
    }
    for (const [i, list] of card.querySelectorAll('.sb-runs').entries()) {
      const line = card.querySelectorAll('.sb-clock')[i];
      const inside = [...list.children].some((run) => !run.hidden);
      line.textContent = i > 0 || inside ? '' : 'The published weeks have ended. Nothing is planned for now.';
      line.hidden = line.textContent === '';
    }
  }

  /** What a run is at a moment: it runs, a changeover to it is under way, or it comes next. */
  function word(run, after, now) {
    const { start, stop } = run.dataset;
    if (after === 0 && (start === '' || now >= moment(start))) return `Now, until ${hour(stop)}:`;
    return after === 0 ? `Changeover now; starts ${hour(start)}:` : `Next, starts ${hour(start)}:`;
  }
})();
