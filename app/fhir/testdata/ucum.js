// Asks an independent UCUM library whether our units are units of UCUM, and how
// many of the second make one of the first. Run where `npm pack
// @lhncbc/ucum-lhc` was unpacked: node ucum.js < asked.txt > ucum.tsv
// where each line of asked.txt is a unit, or two separated by a tab.
const ucum = require(process.cwd() + '/package/browser-dist/ucum-lhc.min.js');
const utils = (ucum.UcumLhcUtils || globalThis.ucumPkg.UcumLhcUtils).getInstance();
for (const line of require('fs').readFileSync(0, 'utf8').trim().split('\n')) {
  const [from, to] = line.split('\t');
  if (to === undefined) {
    const v = utils.validateUnitString(from);
    console.log([from, '', v.status].join('\t'));
  } else {
    const v = utils.convertUnitTo(from, 1, to);
    console.log([from, to, v.status === 'succeeded' ? v.toVal : v.status].join('\t'));
  }
}
