# make demo: set up and run one visit of the invented fleet.   make test: set up and check all.
.PHONY: demo test lint unit bench docs clean

PY := .venv/bin/python

# Tests start programs hundreds of times: what these load is compiled once.
unexport PYTHONDONTWRITEBYTECODE

demo:
	@tools/setup.sh run
	@.venv/bin/asfound demo

test: lint unit

lint:
	@tools/setup.sh test
	.venv/bin/ruff check .
	.venv/bin/ruff format --check .
	.venv/bin/mypy
	.venv/bin/lint-imports --no-cache

unit:
	@tools/setup.sh test
	.venv/bin/pytest -n 2 --dist worksteal --covered
	$(PY) tools/coverage_floor.py

bench:
	@tools/setup.sh bench
	$(PY) benchmarks/read.py
	$(PY) benchmarks/reliability.py
	$(PY) benchmarks/draft.py
	$(PY) benchmarks/photo_size.py
	$(PY) benchmarks/clip.py 5
	$(PY) benchmarks/fuzz_pictures.py 20 71
	$(PY) benchmarks/retake.py
	$(PY) benchmarks/prove.py
	$(PY) benchmarks/prove_faults.py
	$(PY) benchmarks/prove_clock.py 160 0 2 --test
	$(PY) benchmarks/fuzz_video.py
	$(PY) benchmarks/find_fault.py
	$(PY) benchmarks/power_volts.py
	$(PY) benchmarks/speed_logs.py 120
	$(PY) benchmarks/scan.py
	$(PY) benchmarks/pages.py
	$(PY) benchmarks/triggers.py
	$(PY) benchmarks/trigger_scores.py
	$(PY) benchmarks/evidence.py

docs:
	@tools/setup.sh run
	.venv/bin/asfound map schema > docs/menu-map.schema.json

clean:
	rm -rf .venv build dist .pytest_cache .mypy_cache .ruff_cache .hypothesis .coverage* demo-out
