/** Where a sentence lies on the desk that says what of the file was damaged and made anew, until somebody has seen it. */
export const mendedOnDesk = 'mended'
