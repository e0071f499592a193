/** A visit that was just completed needs no copy on this device any more. */
const done = new URLSearchParams(location.search).get('done');

if (done) {
  for (const key of Object.keys(localStorage)) {
    if (key.startsWith('halfinch-visit-') && key.endsWith(done)) localStorage.removeItem(key);
  }
}

export {};
