import fc from 'fast-check'

/**
 * Properties draw the same cases in every run, so that a red run means a change of ours and can be repeated;
 * TARELINE_SEED names other cases, `random` new ones.
 */
const asked = process.env['TARELINE_SEED']
if (asked !== 'random') fc.configureGlobal({ seed: asked === undefined ? 20_261_125 : Number(asked) })
