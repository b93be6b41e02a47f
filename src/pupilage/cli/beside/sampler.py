"""The engine's model of one behaviour, sampled by NumPyro; run with .venv-checks.

Reads JSON from the file named: blocks, each [day, delta, tired, trials, met], and the priors. Written apart from the
engine on purpose: the equations stand here once more, in JAX. One way of learning (toward the level), one law of
forgetting (exponential). Prints means, Monte-Carlo errors and CPU seconds as JSON.
"""

import json
import sys
import time

import jax
import jax.numpy as jnp
import numpy as np
import numpyro
import numpyro.distributions as dist
from numpyro.diagnostics import effective_sample_size
from numpyro.infer import MCMC, NUTS

numpyro.enable_x64()
FORMS = jnp.array([-0.6, 0.0, 0.6])
LOG_FORM_WEIGHTS = jnp.log(jnp.array([0.25, 0.5, 0.25]))
BASE, LOWEST, HIGHEST = -0.4, -0.9, 6.5


def log_likelihood(start, rate, half_life, blocks):
    """Return the log likelihood of all blocks, every day's form summed over, and the skill after the last."""

    def one_block(carry, block):
        skill, n_met_before, by_form, total, last_day = carry
        day, delta, tired, n, k = block
        nights = day - last_day
        total = total + jnp.where(nights > 0, jax.nn.logsumexp(by_form + LOG_FORM_WEIGHTS), 0.0)
        by_form = jnp.where(nights > 0, 0.0, by_form)
        stretched = half_life * 1.8 ** jnp.minimum(5.0, 0.06 * n_met_before)
        skill = BASE + (skill - BASE) * 2.0 ** (-nights / stretched)
        p = 0.02 + 0.96 * jax.nn.sigmoid(skill - delta + tired + FORMS)
        by_form = by_form + k * jnp.log(p) + (n - k) * jnp.log1p(-p)
        gap = jnp.maximum(0.0, delta + 2.2 - skill)
        skill = jnp.clip(skill + (1.0 - (1.0 - rate) ** k) * gap - 0.02 * (n - k), LOWEST, HIGHEST)
        return (skill, n_met_before + k, by_form, total, day), None

    first = (jnp.clip(start, LOWEST, HIGHEST), 0.0, jnp.zeros(3), 0.0, blocks[0, 0])
    (skill, _, by_form, total, _), _ = jax.lax.scan(one_block, first, blocks)
    return total + jax.nn.logsumexp(by_form + LOG_FORM_WEIGHTS), skill


def model(blocks, priors):
    """The grid's model with its three unknowns, in normal laws."""
    start = numpyro.sample("start", dist.Normal(*priors["start"]))
    log_rate = numpyro.sample("log_rate", dist.Normal(*priors["log_rate"]))
    log_half_life = numpyro.sample("log_half_life", dist.Normal(*priors["log_half_life"]))
    value, skill = log_likelihood(start, jnp.minimum(0.6, jnp.exp(log_rate)), jnp.exp(log_half_life), blocks)
    numpyro.deterministic("skill", skill)
    numpyro.factor("trials", value)


def main() -> None:
    """Sample n_runs times, from the second on with everything compiled, and print what the last one found."""
    with open(sys.argv[1], encoding="utf-8") as file:
        told = json.load(file)
    blocks = jnp.array(told["blocks"], dtype=float)
    took = []
    kernel = NUTS(model, target_accept_prob=0.9)
    sampler = MCMC(kernel, num_warmup=told["n_warmup"], num_samples=told["n_draws"], progress_bar=False)
    for seed in range(1, 1 + told["n_runs"]):
        cpu = time.process_time()
        sampler.run(jax.random.key(seed), blocks, told["priors"])
        draws = {name: np.asarray(one) for name, one in sampler.get_samples().items()}
        took.append(time.process_time() - cpu)
    found = {}
    for name, one in draws.items():
        size = float(effective_sample_size(one[None]))
        found[name] = {"mean": float(one.mean()), "sd": float(one.std()), "error": float(one.std() / np.sqrt(size))}
    print(json.dumps({"found": found, "cpu_s": took}))


if __name__ == "__main__":
    main()
