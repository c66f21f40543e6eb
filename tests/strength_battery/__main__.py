"""``python -m tests.strength_battery``: judge an estimator on every plan."""

import argparse
import importlib
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

import pandas as pd

from .judge import judge_cases, table
from .plans import PLANS
from .real import judge_real


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="strength_battery", description=__doc__)
    parser.add_argument("--cases", type=int, default=6, help="logs a plan")
    parser.add_argument("--plans", nargs="+", choices=PLANS, default=list(PLANS))
    parser.add_argument("--estimator", choices=("model", "baseline"), default="model")
    parser.add_argument("--by", default="plan", help="a fact of the logs to group by")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--out", type=Path, help="CSV file for the table")
    return parser.parse_args()


def _judge_plan(plan: str, cases: int, estimator: str) -> pd.DataFrame:
    judged = importlib.import_module(f".{estimator}", __package__)
    return judge_cases(((plan, seed) for seed in range(cases)), judged)


def main() -> None:
    asked = _arguments()
    judge = partial(_judge_plan, cases=asked.cases, estimator=asked.estimator)
    with ProcessPoolExecutor(asked.jobs) as pool:
        found = pd.concat(pool.map(judge, asked.plans), ignore_index=True)
    result = table(found, asked.by)
    print(result.round(3).to_string(index=False))
    judged = importlib.import_module(f".{asked.estimator}", __package__)
    print(judge_real(judged).round(3).to_string(index=False))
    if asked.out:
        result.to_csv(asked.out, index=False)


if __name__ == "__main__":
    main()
