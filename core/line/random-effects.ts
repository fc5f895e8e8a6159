/** What one member of a population shows: how many values, their mean, and their sum of squares about it. */
export interface Sample {
  readonly count: number
  readonly mean: number
  readonly squares: number
}

/** A population by restricted maximum likelihood: its mean, and the standard deviations between and within members. */
export interface RandomEffects {
  readonly mean: number
  readonly uMean: number
  readonly between: number
  readonly within: number
  /** Predicted effect of each member: its distance from the mean, shrunk by what chance alone would do. */
  readonly effects: readonly number[]
}

/** Means and restricted log-likelihood for a ratio of variances λ = between²/within², within² at its best. */
function profile(samples: readonly Sample[], ratio: number) {
  let count = 0
  let squares = 0
  let information = 0
  let sum = 0
  for (const { count: n, mean, squares: own } of samples) {
    const weight = n / (1 + n * ratio)
    count += n
    squares += own
    information += weight
    sum += weight * mean
  }
  const mean = sum / information
  let logs = 0
  for (const { count: n, mean: own } of samples) {
    squares += (n / (1 + n * ratio)) * (own - mean) ** 2
    logs += Math.log1p(n * ratio)
  }
  const varWithin = squares / (count - 1)
  return {
    mean,
    varWithin,
    information,
    logLikelihood: -0.5 * ((count - 1) * Math.log(varWithin) + logs + Math.log(information)),
  }
}

const largestLogRatio = Math.log(1e6)
const smallestLogRatio = Math.log(1e-8)

/**
 * One-way random effects y = mean + effect of the member + error, variances by restricted maximum likelihood (REML),
 * effects by best linear unbiased prediction: effect = n λ/(1 + n λ) (own mean - mean) with λ = between²/within².
 *
 * Units: the caller's. Range: two members or more, one of them with two values. λ is searched between 1e-8 and 1e6 by
 * golden sections to 1e-9 of its logarithm; at the lower end the members do not differ and `between` is 0.
 * Errors: RangeError where there is too little to tell the variances apart.
 * Source: Pinheiro & Bates, Mixed-Effects Models in S and S-PLUS (2000), chapter 2 (from memory).
 */
export function randomEffects(samples: readonly Sample[]): RandomEffects {
  const values = samples.reduce((sum, { count }) => sum + count, 0)
  if (samples.length < 2 || values <= samples.length)
    throw new RangeError(`${samples.length} members with ${values} values cannot tell between from within`)
  const golden = (Math.sqrt(5) - 1) / 2
  let low = smallestLogRatio
  let high = largestLogRatio
  const at = (x: number) => profile(samples, Math.exp(x)).logLikelihood
  while (high - low > 1e-9) {
    const left = high - golden * (high - low)
    const right = low + golden * (high - low)
    if (at(left) < at(right)) low = left
    else high = right
  }
  const found = (low + high) / 2
  const ratio = found < smallestLogRatio + 1e-6 ? 0 : Math.exp(found)
  const { mean, varWithin, information } = profile(samples, ratio)
  return {
    mean,
    uMean: Math.sqrt(varWithin / information),
    between: Math.sqrt(ratio * varWithin),
    within: Math.sqrt(varWithin),
    effects: samples.map(({ count, mean: own }) => ((count * ratio) / (1 + count * ratio)) * (own - mean)),
  }
}
