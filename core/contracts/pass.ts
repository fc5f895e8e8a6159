/**
 * The pass of a browser that was let into the loopback window: the name of the header that carries it with every call,
 * and of its place in the page's own storage.
 */
export const passName = 'tareline-pass'
