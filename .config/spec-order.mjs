import Sequencer from '@jest/test-sequencer';

/** Folders whose specs take long, the longest first; Jest itself goes by the size of a file. */
const LONG = ['/test/browser/', '/test/group/', '/test/sqlite/', '/test/integration/', '/test/'];

const placeOf = ({ path }) => {
  const place = LONG.findIndex((folder) => path.includes(folder));
  return place < 0 ? LONG.length : place;
};

/** Long specs first, so that no worker stands idle at the end while the other one is in a long one. */
export default class SpecOrder extends Sequencer {
  sort(tests) {
    // A stable sort: within a folder it stays as Jest has it.
    return [...super.sort(tests)].sort((a, b) => placeOf(a) - placeOf(b));
  }
}
