'use strict';

/* How old this site build is. A tablet shows what it was given, so each page says when that was. */
(function () {
  const { book, counted, daysSince, make, places, shown, today } = window.sizebookKit;
  const OLD = 7;
  const TOO_OLD = 30;

  for (const place of places('age')) {
    if (place.dataset.built) show(place, place.dataset.built);
    else book().then((found) => found?.built && show(place, found.built));
  }

  function show(place, built) {
    const days = daysSince(built);
    const state = days > TOO_OLD ? 'too-old' : days > OLD ? 'old' : '';
    place.className = `sb-age ${state}`;
    place.replaceChildren(`Site build of ${shown(built)}, ${aged(days)}`);
    if (state) place.append(' ', make('b', {}, state === 'old' ? 'old' : 'too old: get a new build'));
    place.append(make('span', { class: 'sb-printed' }));
  }

  function aged(days) {
    if (days < 0) return 'a future date: check the clock of this device';
    return days === 0 ? 'made today' : `${counted(days, 'day')} old`;
  }

  window.addEventListener('beforeprint', () => {
    const now = new Date();
    const time = `${String(now.getHours()).padStart(2, '0')}:${String(now.getMinutes()).padStart(2, '0')}`;
    for (const place of document.querySelectorAll('.sb-printed')) place.textContent = `; printed ${shown(today())}, ${time}`;
  });
})();
