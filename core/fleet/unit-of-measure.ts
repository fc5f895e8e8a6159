/**
 * Factors from other units into the stored ones (lb, psi, ft). Exact by definition: 1 lb = 0.453 592 37 kg and 1 ft = 0.3048 m
 * (international yard and pound agreement, 1959), with standard gravity 9.806 65 m/s² for the pound-force in a psi.
 */
export const psiPerKPa = 1000 / ((0.453_592_37 * 9.806_65) / 0.0254 ** 2)
export const psiPerBar = 100 * psiPerKPa
export const lbPerKg = 1 / 0.453_592_37
export const ftPerM = 1 / 0.3048
