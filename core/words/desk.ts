/**
 * Where a sentence lies on the desk that says what of the file was damaged and made anew, until somebody has seen it.
 */
export const mendedOnDesk = 'mended'
/** Where it lies which files of fleet folders the record holds row for row, until something else is done to it. */
export const broughtOnDesk = 'brought in'
/** What the program itself leaves on the desk, which no window writes. */
export const ofProgramOnDesk: ReadonlySet<string> = new Set([mendedOnDesk, broughtOnDesk])
