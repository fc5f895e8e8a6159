/** What the figures of findings are called on the sheet, where the name in the command line's output is not plain words. */
export const findingLabels: Readonly<Record<string, string>> = {
  age_days: 'age', limit_days: 'oldest that counts', days_left: 'days left', predicted_life_days: 'predicted life', risk_percent: 'risk before the next visit', limit_percent: 'largest risk',
  u_limit_lb: 'weight at the limit', expanded_lb: 'good to, 95 %', tolerance_lb: 'tolerance', tolerance_percent: 'tolerance',
  checks: 'check weighings', recent_miss_lb: 'last three checks, mean miss', recent_miss_psi: 'the same as pressure', trend_lb_per_month: 'trend',
  cusum: 'sum of misses', cusum_side: 'side', miss_lb: 'miss', z: 'miss over its uncertainty', psi: 'pressure read', weight_lb: 'scale showed', confidence_percent: 'band',
  miss_per_air_psi: 'miss for 1 psi of air pressure', per_1000_ft_psi: '1,000 ft of elevation',
  slope_lb_per_psi: 'slope', hardware_lb_per_psi: 'air springs times area', ratio: 'slope over that', low: 'smallest ratio', high: 'largest ratio',
  family_slope_lb_per_psi: 'slope of its family', slope_z: 'slope, distance from its family', intercept_lb: 'weight at 0 psi', family_intercept_lb: 'the same of its family',
  intercept_z: 'weight at 0 psi, distance from its family', family_lines: 'lines in the family',
  calibrated_with: 'lift axle at calibration', read_with: 'lift axle since', calibrated_on: 'calibrated', before_on: 'line before',
  span_lb: 'spread of the weights', heaviest_lb: 'heaviest', limit_lb: 'limit', span_asked_percent: 'spread asked, of the limit', top_asked_percent: 'heaviest asked, of the limit',
  chi2: 'χ²', chi2_limit: 'χ² bound', chi2_95: 'χ² 95 % bound', dof: 'degrees of freedom', widened_by: 'uncertainty widened by',
  worst_residual_lb: 'worst point off the line', worst_weight_lb: 'its weight', worst_pressure_psi: 'its pressure',
  at_empty_lb: 'difference at empty', at_limit_lb: 'difference at the limit', bias_percent: 'bias', groups: 'axle groups',
  difference_psi: 'difference', mean_psi: 'mean of the readings', allowed_psi: 'allowed', allowed_lb: 'allowed', difference_lb: 'difference',
  typed_psi: 'typed', fits_psi: 'would fit', typed_lb: 'typed', fits_lb: 'would fit', unit: 'unit it fits', sum_lb: 'axle weights together', gross_lb: 'gross', weights: 'axle weights',
  installed_on: 'cell put in', swap_by: 'swap by', next_visit: 'next visit',
}

/** Words that stand for a figure, where the command line's are short. */
export const findingWords: Readonly<Record<string, string>> = { 'cusum_side high': 'the scale shows more', 'cusum_side low': 'the scale shows less' }

/** Weights and pressures that a person wrote down or set: shown as they are, while computed ones are rounded. */
export const recordedFigures: ReadonlySet<string> = new Set([
  'weight_lb', 'psi', 'typed_lb', 'typed_psi', 'fits_lb', 'sum_lb', 'gross_lb', 'difference_lb', 'limit_lb', 'worst_weight_lb', 'worst_pressure_psi',
])

/** Differences: shown with their sign. */
export const signedFigures: ReadonlySet<string> = new Set([
  'recent_miss_lb', 'recent_miss_psi', 'trend_lb_per_month', 'miss_lb', 'worst_residual_lb', 'at_empty_lb', 'at_limit_lb', 'bias_percent',
])

/** The figure whose standard uncertainty another one is. */
export const figureOfUncertainty: Readonly<Record<string, string>> = {
  u_miss_lb: 'miss_lb', u_empty_lb: 'at_empty_lb', u_limit_lb: 'at_limit_lb', u_percent: 'bias_percent', u: 'miss_per_air_psi',
}
