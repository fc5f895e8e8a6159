/**
 * What the stored units (lb, psi, ft, in) are in others. Exact by definition: the international pound, foot and inch,
 * and standard gravity 9.806 65 m/s² for the pound-force in a psi. Source: NIST SP 811 (2008), appendix B.
 */
export const kgPerLb = 0.45359237
export const mPerFt = 0.3048
export const cmPerIn = 2.54
export const kPaPerPsi = (kgPerLb * 9.80665) / (0.0254 * 0.0254) / 1000
export const barPerPsi = kPaPerPsi / 100
