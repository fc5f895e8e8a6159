/** Σ t^β, Σ t^β ln t and Σ t^β ln² t of some lives, relative to a life that keeps the powers small. */
export interface Powers {
  readonly s0: number
  readonly s1: number
  readonly s2: number
}

export function powersOf(logs: readonly number[], shape: number): Powers {
  let s0 = 0
  let s1 = 0
  let s2 = 0
  for (const log of logs) {
    const power = Math.exp(shape * log)
    s0 += power
    s1 += power * log
    s2 += power * log * log
  }
  return { s0, s1, s2 }
}

/**
 * The sums of the Weibull likelihood's derivatives at a life η, with z = β (ln t - ln η): Σ z e^z, Σ z² e^z over all
 * lives, Σ z over the deaths; `scale`: η^-β. lnLife: ln η; logSumOfDeaths: Σ ln t over the deaths.
 */
export function sumsAt(
  { s0, s1, s2 }: Powers,
  { deaths, logSumOfDeaths }: { readonly deaths: number; readonly logSumOfDeaths: number },
  shape: number,
  lnLife: number,
) {
  const scale = Math.exp(-shape * lnLife)
  return {
    scale,
    sumZE: shape * scale * (s1 - lnLife * s0),
    sumZZE: shape * shape * scale * (s2 - 2 * lnLife * s1 + lnLife * lnLife * s0),
    sumZOfDeaths: shape * (logSumOfDeaths - deaths * lnLife),
  }
}
